# SPDX-License-Identifier: GPL-3.0-or-later
"""The mount: its plane, its bolts and the outline of the seat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, frozen
from ..base.convex_polygon import convex_hull, polygon_distance
from ..base.errors import JobError
from ..job.job_sheet import Job
from ..tire.job_tire import static_radius


@dataclass(frozen=True, eq=False)
class MountFrame:
    """The mount plane in wheel axes, mm.

    origin : (3,) pattern center O; x, forward, up : (3,) unit, right-handed up to sign: x to the rider's left, forward in the
    plane, up its normal away from the axle
    bolts : (b, 3) on the plane; bolts_uv : (b, 2) the same as (u along x, v along forward) from the origin
    hull_uv : (h, 2) convex hull of bolts_uv, counterclockwise; pad : radius of the seat about each bolt
    height : origin down to the static tire, square to the plane
    """

    origin: Array
    x: Array
    forward: Array
    up: Array
    bolts: Array
    bolts_uv: Array
    hull_uv: Array
    pad: float
    height: float

    def to_axes(self, uv: Array, above: float = 0.0) -> Array:
        """Points of the plane, or of one that lies `above` mm over it. uv : (..., 2) float; returns (..., 3) float."""
        uv = np.asarray(uv, dtype=np.float64)
        return np.asarray(self.origin + uv[..., :1] * self.x + uv[..., 1:] * self.forward + above * self.up)

    def to_plane(self, points: Array) -> tuple[Array, Array]:
        """Plane coordinates (..., 2) of points (..., 3), and their heights (...) over the plane."""
        offset = np.asarray(points, dtype=np.float64) - self.origin
        return np.stack([offset @ self.x, offset @ self.forward], axis=-1), np.asarray(offset @ self.up)

    def outline_distance(self, uv: Array) -> Array:
        """Signed distance in the plane to the seat's outline, the hull of the discs about the bolts; negative inside.

        uv : (n, 2) float; returns (n,) float, mm. Exact: the outline is the offset of a convex polygon.
        """
        return polygon_distance(self.hull_uv, np.asarray(uv, dtype=np.float64)) - self.pad

    def outline(self, count: int) -> Array:
        """count points on the seat's outline, evenly spaced along it, counterclockwise in (u, v); returns (count, 2)."""
        hull = self.hull_uv
        sides = np.roll(hull, -1, axis=0) - hull
        lengths = np.hypot(sides[:, 0], sides[:, 1])
        if len(hull) == 1:
            angles = np.linspace(0.0, 2 * np.pi, count, endpoint=False)
            return np.asarray(hull + self.pad * _unit(angles))
        headings = np.arctan2(sides[:, 1], sides[:, 0]) - np.pi / 2
        turns = np.mod(headings - np.roll(headings, 1), 2 * np.pi)
        # each corner: first its arc, then the side that leaves it
        starts = np.concatenate([[0.0], np.cumsum(np.column_stack([self.pad * turns, lengths]).ravel())])
        along = np.linspace(0.0, starts[-1], count, endpoint=False)
        piece = np.searchsorted(starts, along, side="right") - 1
        corner, rest = piece // 2, along - starts[piece]
        on_arc = piece % 2 == 0
        angle = headings[corner] - turns[corner] * on_arc + np.where(on_arc, rest / self.pad, 0.0)
        slide = np.where(on_arc, 0.0, rest / lengths[corner])
        return np.asarray(hull[corner] + slide[:, None] * sides[corner] + self.pad * _unit(angle))


def mount_frame(job: Job) -> MountFrame:
    """The mount plane of a job.

    Forward f = (0, -cos tilt, sin tilt), normal n = (0, sin tilt, cos tilt), center O = (0, -ahead, z) with O - height n on
    the static tire's crown circle. Raises JobError if a line square to the plane misses the tire.
    """
    mount = job.mount
    radius = static_radius(job)
    tilt = np.radians(mount.tilt)
    forward = np.array([0.0, -np.cos(tilt), np.sin(tilt)])
    up = np.array([0.0, np.sin(tilt), np.cos(tilt)])
    reach = mount.ahead + mount.height * np.sin(tilt)
    if abs(reach) >= radius:
        raise JobError(
            "mount.ahead",
            f"{mount.ahead:g} with tilt {mount.tilt:g} and height {mount.height:g} puts the foot of the height {abs(reach):.0f} "
            f"mm from the axle, past the tire's radius of {radius:.1f} mm; it must fall on the tire",
        )
    origin = np.array([0.0, -mount.ahead, mount.height * np.cos(tilt) + np.sqrt(radius**2 - reach**2)])
    bolts_uv = np.array(mount.bolts, dtype=np.float64)
    x = np.array([1.0, 0.0, 0.0])
    return MountFrame(
        origin=frozen(origin),
        x=frozen(x),
        forward=frozen(forward),
        up=frozen(up),
        bolts=frozen(origin + bolts_uv[:, :1] * x + bolts_uv[:, 1:] * forward),
        bolts_uv=frozen(bolts_uv),
        hull_uv=frozen(convex_hull(bolts_uv)),
        pad=mount.pad,
        height=mount.height,
    )


def _unit(angle: Array) -> Array:
    return np.stack([np.cos(angle), np.sin(angle)], axis=-1)
