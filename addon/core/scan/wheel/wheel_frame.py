# SPDX-License-Identifier: GPL-3.0-or-later
"""3-2-1 alignment: from axle, center plane and one more direction to wheel axes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array
from ...fits.directions import across, unit
from .axis import Axis

LEVEL_DEG = 3.0
"""A scan whose own axis stands this nearly square to the axle is taken as leveled, if that axis also points up roughly."""
ROUGH_UP_DEG = 25.0


@dataclass(frozen=True, eq=False)
class WheelFrame:
    """rotation (3, 3) with rows X (rider's left), Y (rearward), Z (up), and origin (3,) in scan coordinates, mm.

    up_basis : what "up" rests on; assumed : sentences for what was assumed and not known
    """

    rotation: Array
    origin: Array
    up_basis: str
    assumed: tuple[str, ...]

    def to_wheel(self, points: Array) -> Array:
        """Points (..., 3) of the scan, mm, in wheel axes."""
        return np.asarray((points - self.origin) @ self.rotation.T)

    def matrix(self, unit_mm: float) -> Array:
        """(4, 4) that takes scan coordinates in the scan's unit to wheel axes in mm."""
        matrix = np.eye(4)
        matrix[:3, :3] = self.rotation * unit_mm
        matrix[:3, 3] = -self.rotation @ self.origin
        return matrix


@dataclass(frozen=True, eq=False)
class Clues:
    """Directions from the wheel's center in the scan, None where not known.

    up, forward : stated by the builder; mount, chassis : toward the middle of these regions; rest : toward the middle of
    all that is not wheel; chassis_ahead : True at a rear wheel
    """

    up: Array | None = None
    forward: Array | None = None
    mount: Array | None = None
    chassis: Array | None = None
    rest: Array | None = None
    chassis_ahead: bool = False


def wheel_frame(axis: Axis, clues: Clues) -> WheelFrame:
    """Primary datum: the axle gives X up to its sign. Secondary: the center plane, through axis.point, gives the origin.
    Tertiary: "up" gives the turn about the axle, "forward" the sign.

    Datum systems: ISO 5459. A direction along the axle tells nothing and is passed over.
    """
    assumed: list[str] = []
    up, basis = _up(axis.direction, clues, assumed)
    left = axis.direction
    forward = np.cross(left, up)
    if not _is_forward(forward, clues, assumed):
        left, forward = -left, -forward
    return WheelFrame(np.stack([left, -forward, up]), axis.point, basis, tuple(assumed))


def _up(axle: Array, clues: Clues, assumed: list[str]) -> tuple[Array, str]:
    if clues.up is not None and _usable(axle, clues.up):
        return _square(axle, clues.up), "what was stated"
    if clues.up is None and clues.forward is not None and _usable(axle, clues.forward) and clues.mount is None:
        assumed.append("Up is taken square to what was stated as forward.")
        side = np.cross(_square(axle, clues.forward), axle)
        toward = next((clue for clue in (clues.chassis, clues.rest) if clue is not None), side)
        return side * (1.0 if side @ toward >= 0.0 else -1.0), "what was stated as forward"
    for clue, name in ((clues.mount, "the mount"), (clues.chassis, "the chassis"), (clues.rest, "what is not wheel")):
        if clue is None or not _usable(axle, clue):
            continue
        rough = _square(axle, clue)
        level = _leveled(axle, rough)
        if level is not None:
            assumed.append(
                f"The scan's own axis {level[1]} stands square to the axle and points to {name}: taken as up. If the scan is "
                "not level, state what is up."
            )
            return level[0], f"the scan's axis {level[1]}"
        assumed.append(
            f"Up is not known: {name} is taken to be straight above the axle, so that tilt and ahead of the mount are relative "
            "to that. State what is up to have them from the ground."
        )
        return rough, name
    assumed.append("Up is not known and nothing hints at it: the scan's axis that is most square to the axle is taken.")
    place = int(np.argmin(np.abs(axle)))
    return _square(axle, np.eye(3)[place]), f"the scan's axis +{'XYZ'[place]}"


def _leveled(axle: Array, rough: Array) -> tuple[Array, str] | None:
    for i in range(3):
        for sign in (1.0, -1.0):
            own = sign * np.eye(3)[i]
            square = abs(float(own @ axle)) < np.sin(np.radians(LEVEL_DEG))
            if square and float(_square(axle, own) @ rough) > np.cos(np.radians(ROUGH_UP_DEG)):
                return _square(axle, own), f"{'+' if sign > 0 else '-'}{'XYZ'[i]}"
    return None


def _is_forward(forward: Array, clues: Clues, assumed: list[str]) -> bool:
    if clues.forward is not None and abs(float(forward @ clues.forward)) > 0.1:
        return bool(forward @ clues.forward > 0.0)
    if clues.chassis is not None:
        share = float(forward @ unit(clues.chassis))
        if abs(share) > 0.05:
            return (share > 0.0) == clues.chassis_ahead
    assumed.append(
        "Forward is not known: left and right may be exchanged, front and rear with them. Mark the chassis or state what is forward."
    )
    return bool(forward[int(np.argmax(np.abs(forward)))] > 0.0)


def _usable(axle: Array, clue: Array) -> bool:
    return float(np.linalg.norm(across(axle) @ unit(clue))) > 0.2


def _square(axle: Array, vector: Array) -> Array:
    """Unit vector of the part of a vector that is square to the axle."""
    return unit(vector - (vector @ axle) * axle)
