# SPDX-License-Identifier: GPL-3.0-or-later
"""Where along a joint there is room for a pin or a key."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Mask, frozen
from ..base.row_vectors import dot_rows
from ..seat.placed_seat import PlacedSeat
from ..seat.seat_outline import outline_distance
from ..wall.closed_wall import ClosedWall
from .joint import Joint
from .section_line import SectionLine, section_lines

SPACING = 45.0
ALONG_SPACING = 90.0
"""Most distance between pins or keys along a joint, mm, and along one that runs along the bike, where further cuts must pass between
them; our choice."""

_STEP = 1.0
_THROUGH = 25.0
"""An edge or a bolt so far from the plane of the wall at a place is not in its way, mm: the other side of the fender."""


@dataclass(frozen=True)
class Footprint:
    """The rectangle that a pin or key takes, and what it keeps off, mm.

    half_width : along the joint, either way; low, high : ends along the joint's normal, from the cut
    edge : from the rectangle to the edge of the fender or an opening; bolt : more than a bolt's own edge distance
    apart : least from middle to middle of two of them
    """

    half_width: float
    low: float
    high: float
    edge: float
    bolt: float
    apart: float


@dataclass(frozen=True, eq=False)
class JointPlace:
    """point : (3,) float, on the cut, middle of the wall; half : (3,) float, half of the wall, outward

    axes : (3, 3) float, rows: along the joint, along its normal, and outward, orthonormal
    """

    point: Array
    half: Array
    axes: Array

    def local(self, points: Array) -> Array:
        """(n, 3) coordinates of points along the axes."""
        return np.asarray((points - self.point) @ self.axes.T)


def joint_places(
    wall: ClosedWall,
    joint: Joint,
    seats: Sequence[PlacedSeat],
    footprint: Footprint,
    here: Mask | None = None,
    also: Callable[[JointPlace], bool] = lambda place: True,
) -> list[list[JointPlace]]:
    """Places in each free stretch of the joint, evenly spaced from end to end of it, from the edge of the fender inward.

    seats : whose bolts and bearing faces are kept off; here : (n,) bool, points of the wall that the joint may use, all if None
    also : what else must hold at a place
    """
    edge = _edge_near(wall, joint, footprint)
    found = []
    for line in section_lines(wall, joint, here):
        along = np.linspace(0.0, line.length, int(np.ceil(line.length / _STEP)) + 1)
        places = _places(line, joint, along)
        free = along[[_is_free(place, edge, seats, footprint) and also(place) for place in places]]
        ends = min(footprint.half_width + footprint.edge, 0.5 * line.length)
        free = free[(free >= ends) & (free <= line.length - ends)]
        for stretch in np.split(free, np.flatnonzero(np.diff(free) > 1.5 * (along[1] - along[0])) + 1):
            if len(stretch):
                at = _spread(stretch, footprint.apart, SPACING if joint.is_across else ALONG_SPACING)
                inward = at if stretch.mean() <= 0.5 * line.length else at[::-1]
                found.append(_places(line, joint, inward))
    return found


def _spread(stretch: Array, apart: float, most: float) -> Array:
    """Distances along a free stretch, from its one end to the other."""
    length = float(stretch[-1] - stretch[0])
    if length < apart:
        return np.array([0.5 * (stretch[0] + stretch[-1])])
    return np.linspace(float(stretch[0]), float(stretch[-1]), max(2, int(np.ceil(length / max(most, apart))) + 1))


def _places(line: SectionLine, joint: Joint, along: Array) -> list[JointPlace]:
    points, halves = line.at(along)
    ahead, behind = line.at(along + 2.0 * _STEP)[0], line.at(along - 2.0 * _STEP)[0]
    tangents = ahead - behind
    tangents -= (tangents @ joint.normal)[:, None] * joint.normal
    tangents /= np.linalg.norm(tangents, axis=1, keepdims=True)
    outward = np.cross(tangents, joint.normal)
    turn = np.sign(dot_rows(outward, halves))[:, None]
    return [
        JointPlace(frozen(point), frozen(half), frozen(np.stack([tangent, joint.normal, out])))
        for point, half, tangent, out in zip(points, halves, turn * tangents, turn * outward, strict=True)
    ]


def _edge_near(wall: ClosedWall, joint: Joint, footprint: Footprint) -> Array:
    """Points (n, 3) of the edge of the wall, openings as well, that are near enough to the cut to be in the way."""
    rim = wall.boundary.vertex
    points = 0.5 * (wall.outer[rim] + wall.inner[rim])
    along = joint.along(points)
    return np.asarray(points[(along > footprint.low - footprint.edge) & (along < footprint.high + footprint.edge)])


def _is_free(place: JointPlace, edge: Array, seats: Sequence[PlacedSeat], footprint: Footprint) -> bool:
    if (_away(place.local(edge), footprint) < footprint.edge).any():
        return False
    corners = place.point + _outline(footprint) @ place.axes[:2]
    for placed in seats:
        seat, ways = placed.seat, np.linspace(-1.0, 1.0, 9)[:, None, None] * placed.bore.slots
        bolts = seat.place((seat.bolts + ways).reshape(-1, 2))
        reach = max(placed.edge_distance, 0.5 * placed.bore.widest, 0.5 * placed.bore.room) + footprint.bolt
        if (_away(place.local(bolts), footprint) < reach).any():
            return False
        under = np.abs(seat.height(corners)) < _THROUGH
        if (under & (outline_distance(seat.in_plane(corners), seat.bolts, seat.pad)[0] < 0.0)).any():
            return False
    return True


def _away(local: Array, footprint: Footprint) -> Array:
    """(n,) distance of points from the rectangle, infinite where they are on the other side of the fender."""
    across = np.maximum(np.abs(local[:, 0]) - footprint.half_width, 0.0)
    beyond = np.maximum(np.maximum(footprint.low - local[:, 1], local[:, 1] - footprint.high), 0.0)
    return np.where(np.abs(local[:, 2]) < _THROUGH, np.hypot(across, beyond), np.inf)


def _outline(footprint: Footprint) -> Array:
    """(9, 2) float, corners of the rectangle, middles of its sides, and its middle."""
    across = np.array([-1.0, 0.0, 1.0]) * footprint.half_width
    beyond = np.array([footprint.low, 0.5 * (footprint.low + footprint.high), footprint.high])
    return np.asarray(np.stack(np.meshgrid(across, beyond, indexing="ij"), axis=-1).reshape(-1, 2))
