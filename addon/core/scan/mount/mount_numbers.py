# SPDX-License-Identifier: GPL-3.0-or-later
"""Height, ahead, tilt and bolts of a mount face, as the job sheet means them, each with its standard deviation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array
from ...base.errors import JobError
from ...fits.directions import across, unit
from ..wheel.center_plane import CenterPlane
from ..wheel.revolution_fit import RevolutionFit
from ..wheel.tire_section import crown_gradient
from ..wheel.wheel_frame import WheelFrame
from .mount_face import MountFace

NAMES = ("height", "ahead", "tilt", "roll", "lateral")
STEP = 1e-4


@dataclass(frozen=True, eq=False)
class MountNumbers:
    """height, ahead, lateral in mm; tilt, roll in degrees; sigma : name -> standard deviation, same unit.

    lateral : how far left of the center plane the middle of the holes lies; roll : how far the face leans to the left. The
    job sheet has neither, it takes both as 0; bolts : (b, 2) of x from the center plane and ahead from the pattern center
    """

    height: float
    ahead: float
    tilt: float
    roll: float
    lateral: float
    bolts: Array
    sigma: dict[str, float]


def mount_numbers(
    face: MountFace, frame: WheelFrame, fit: RevolutionFit, center: CenterPlane, crown_radius: float
) -> MountNumbers:
    """Measures of the face in wheel axes.

    Raises JobError if the face does not look at the tire: a line square to it through its middle misses the tire.
    With f and n the forward axis and the normal of the face in the center plane and O its middle, the tape's length is
    n.O - sqrt(R^2 - (f.O)^2). Standard deviations by linear propagation from axis, center plane, crown, face and holes.
    """
    # frame.rotation's X is the fit's direction up to sign
    values = _numbers(frame.rotation, frame.origin, face.center, face.plane.normal, crown_radius)
    if not np.isfinite(values).all():
        raise JobError("hints.mount", "a line square to its face misses the tire, mark the face that the fender is bolted to")
    covariance = _covariance(face, fit, center)
    jacobian = _jacobian(face, frame, fit, crown_radius)
    sigma = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", jacobian, covariance, jacobian), 0.0))
    height, ahead, tilt, roll, lateral = values.tolist()
    bolts = _bolts(frame, face, float(np.radians(tilt)), lateral)
    return MountNumbers(height, ahead, tilt, roll, lateral, bolts, dict(zip(NAMES, sigma.tolist(), strict=True)))


def _numbers(rotation: Array, origin: Array, middle: Array, normal: Array, radius: float) -> Array:
    n = rotation @ normal
    n = n * np.sign(n[2]) if abs(n[2]) > 1e-9 else n
    x, y, z = rotation @ (middle - origin)
    roll = np.degrees(np.arcsin(np.clip(-n[0], -1.0, 1.0)))
    level = np.hypot(n[1], n[2])
    # where the face's own left-right line through its middle meets the center plane
    side = np.array([1.0, 0.0, 0.0]) - n[0] * n
    y, z = np.array([y, z]) - x / max(side[0], 1e-9) * side[1:]
    up, forward = n[1:] / level, np.array([-n[2], n[1]]) / level
    place = np.array([y, z])
    square = radius**2 - float(forward @ place) ** 2
    height = float(up @ place) - np.sqrt(square) if square > 0.0 else np.nan
    return np.array([height, -y, np.degrees(np.arctan2(n[1], n[2])), roll, x])


def _bolts(frame: WheelFrame, face: MountFace, tilt: float, lateral: float) -> Array:
    away = (face.hole_points - face.center) @ frame.rotation.T
    forward = np.array([0.0, -np.cos(tilt), np.sin(tilt)])
    return np.column_stack([away[:, 0] + lateral, away @ forward])


def _covariance(face: MountFace, fit: RevolutionFit, center: CenterPlane) -> Array:
    """Of axis shift (2) and tilt (2), crown radius, center plane, face offset and tilts (3), middle of the holes (2)."""
    pick = np.zeros((5, len(fit.covariance)))
    pick[:4, :4] = np.eye(4)
    pick[4] = crown_gradient(fit, center)
    covariance = np.zeros((11, 11))
    covariance[:5, :5] = pick @ fit.covariance @ pick.T
    covariance[5, 5] = center.sigma**2
    covariance[6:9, 6:9] = face.plane.covariance
    covariance[9:, 9:] = face.center_sigma**2 * np.eye(2)
    return covariance


def _jacobian(face: MountFace, frame: WheelFrame, fit: RevolutionFit, radius: float) -> Array:
    """Central differences (5, 11) by the parameters of _covariance."""
    columns = []
    for i in range(11):
        ends = [_moved(face, frame, fit, radius, sign * STEP * np.eye(11)[i]) for sign in (1.0, -1.0)]
        columns.append((ends[0] - ends[1]) / (2.0 * STEP))
    return np.stack(columns, axis=1)


def _moved(face: MountFace, frame: WheelFrame, fit: RevolutionFit, radius: float, change: Array) -> Array:
    tangents = across(fit.axis.direction)
    direction = unit(fit.axis.direction + change[2:4] @ tangents)
    sign = np.sign(float(frame.rotation[0] @ fit.axis.direction))
    left = sign * direction
    up = unit(frame.rotation[2] - (frame.rotation[2] @ left) * left)
    lever = float((frame.origin - fit.axis.point) @ fit.axis.direction)
    shift = (change[:2] + lever * change[2:4]) @ tangents + change[5] * fit.axis.direction
    plane = face.plane
    normal = unit(plane.normal + change[7:9] @ plane.tangents)
    # the middle stays on the face: the face turns about plane.point
    arm = (face.center - plane.point) @ plane.tangents.T
    rise = change[6] - float(arm @ change[7:9])
    middle = face.center + rise * plane.normal + change[9:] @ plane.tangents
    return _numbers(np.stack([left, np.cross(up, left), up]), frame.origin + shift, middle, normal, radius + change[4])
