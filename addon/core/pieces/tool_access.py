# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether head, washer and tool reach a bolt: a straight cylinder along its axis that nothing of the part stands in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.errors import ShapeError
from ..base.format_place import format_place
from ..base.row_vectors import dot_rows
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.bore import Bore
from ..seat.seat import Seat
from ..tables.bolt_seats import STRAIGHT_REACH
from ..wall.closed_wall import ClosedWall
from .holes import bolt_depth

_SLACK = 0.05
"""How far triangles may stand into the cylinder, mm: the walls of its own recess are facets."""


@dataclass(frozen=True, eq=False)
class Cylinder:
    """start : (3,) float, mm, middle of its end at the bolt; axis : (3,) float, unit, away from the part; radius, length : mm"""

    start: Array
    axis: Array
    radius: float
    length: float = STRAIGHT_REACH

    def points(self, step: float = 2.0) -> Array:
        """(n, 3) float, points of its axis."""
        return np.asarray(self.start + np.arange(0.0, self.length + 0.5 * step, step)[:, None] * self.axis)


def reach_cylinders(wall: ClosedWall, seat: Seat, bore: Bore) -> tuple[Cylinder, ...]:
    """What must be free over each bolt, on the face away from the bracket; for a slot at its middle and both ends.

    They begin over the wall around the bolt: below that the recess itself is cut straight and as wide.
    """
    found = []
    for index, bolt in enumerate(seat.bolts):
        over = bolt_depth(wall, seat, index, bore).most + _SLACK
        for share in (0.0, 1.0, -1.0) if bore.slots[index].any() else (0.0,):
            foot = seat.place((bolt + share * bore.slots[index])[None])[0]
            found.append(Cylinder(foot - over * seat.bracket_side, -seat.bracket_side, 0.5 * bore.room))
    return tuple(found)


def check_tool_access(part: TriangleMesh, cylinders: Sequence[Cylinder]) -> None:
    """Raise ShapeError with the place where the part itself stands in the way of a head, washer or tool."""
    for cylinder, place in zip(cylinders, first_in_way(part, cylinders), strict=True):
        if place is not None:
            raise ShapeError(
                f"the fender itself stands in the way of a screw and its tool {format_place(place)}, which need a straight way of "
                f"{2.0 * cylinder.radius:g} mm across and {cylinder.length:g} mm long to the bolt {format_place(cylinder.start)}; shape "
                "it wider there or move the bolt",
                place,
            )


def first_in_way(part: TriangleMesh, cylinders: Sequence[Cylinder]) -> list[Array | None]:
    """Of each cylinder the place (3,) of the part in it that is nearest to the bolt; None if it is free."""
    a, b, c = (part.vertices[part.triangles[:, corner]] for corner in range(3))
    low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    found = []
    for cylinder in cylinders:
        ends = np.stack([cylinder.start, cylinder.start + cylinder.length * cylinder.axis])
        near = np.flatnonzero(
            ((low <= ends.max(axis=0) + cylinder.radius) & (high >= ends.min(axis=0) - cylinder.radius)).all(axis=1)
        )
        found.append(_first(np.stack([a[near], b[near], c[near]], axis=1), cylinder))
    return found


def _first(corners: Array, cylinder: Cylinder) -> Array | None:
    """As first_in_way, of the triangles with these corners (m, 3, 3)."""
    one = np.cross(cylinder.axis, np.eye(3)[np.argmin(np.abs(cylinder.axis))])
    one /= np.linalg.norm(one)
    basis = np.stack([one, np.cross(cylinder.axis, one), cylinder.axis])
    local = (corners - cylinder.start) @ basis.T
    low, high = local.min(axis=1), local.max(axis=1)
    radius = cylinder.radius - _SLACK
    close = (low[:, :2] < radius).all(axis=1) & (high[:, :2] > -radius).all(axis=1)
    close &= (low[:, 2] < cylinder.length) & (high[:, 2] > 0.0)
    places = [inside for corner in local[close] if (inside := _inside(corner, radius, cylinder.length)) is not None]
    if not places:
        return None
    return np.asarray(cylinder.start + min(places, key=lambda at: float(at[2])) @ basis)


def _inside(corner: Array, radius: float, length: float) -> Array | None:
    """A point of a triangle (3, 3) that lies within radius of the z axis between 0 and length, or None."""
    clipped = _clip(_clip(corner, 1.0, 0.0), -1.0, length)
    if len(clipped) < 2:
        return None
    after = np.roll(clipped, -1, axis=0)
    edge = after - clipped
    squared = np.maximum(dot_rows(edge[:, :2], edge[:, :2]), 1e-300)
    share = np.clip(-dot_rows(clipped[:, :2], edge[:, :2]) / squared, 0.0, 1.0)
    nearest = clipped + share[:, None] * edge
    away = np.linalg.norm(nearest[:, :2], axis=1)
    turn = clipped[:, 0] * after[:, 1] - clipped[:, 1] * after[:, 0]
    if away.min() < radius:
        return np.asarray(nearest[np.argmin(away)])
    # the axis pierces the polygon
    return np.asarray(clipped.mean(axis=0)) if (turn > 0.0).all() or (turn < 0.0).all() else None


def _clip(polygon: Array, sign: float, bound: float) -> Array:
    """The part of a convex polygon (k, 3) where sign (z - bound) is not negative."""
    kept = []
    for here, following in zip(polygon, np.roll(polygon, -1, axis=0), strict=True):
        a, b = sign * (here[2] - bound), sign * (following[2] - bound)
        if a >= 0.0:
            kept.append(here)
        if (a > 0.0 > b) or (a < 0.0 < b):
            kept.append(here + a / (a - b) * (following - here))
    return np.array(kept).reshape(-1, 3)
