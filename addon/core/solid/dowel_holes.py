# SPDX-License-Identifier: GPL-3.0-or-later
"""Holes for dowel pins through a lap, square to the wall."""

from __future__ import annotations

import numpy as np

from ..arrays import Array, Index, Mask
from ..errors import JobError
from ..wheel_axes import station_of
from .closed_wall import ClosedWall
from .joint import Joint
from .prism import prism
from .triangle_mesh import TriangleMesh

EDGE_DIAMETERS = 2.0
"""From a pin's axis to any edge, in diameters of its hole: the rule for plain fasteners in sheet; common practice, no source."""

SPACING = 45.0
"""Most distance between pins along the joint, mm; our choice."""

_SIDES = 32
_PAST_FACE = 1.0


def dowel_holes(wall: ClosedWall, joint: Joint, diameter: float, here: Mask) -> tuple[TriangleMesh, ...]:
    """Cutters for the pins of a lap, in a row on its middle, evenly spaced from edge to edge.

    joint : a lap whose plane goes through the axle, normal forward; diameter : of a pin, mm; its hole is wider by the fit
    here : (n,) bool, points of the wall that the joint may be drilled at
    Raises JobError if the lap or the fender is too narrow for them.
    """
    hole = diameter + joint.fit
    needed = EDGE_DIAMETERS * hole
    lap = 2.0 * joint.half_length - joint.fit
    if 0.5 * lap < needed:
        raise JobError(
            "split.pin",
            f"{diameter:g} needs {needed:.1f} mm from its axis to the ends of the lap, which is {lap:.1f} mm long; allowed is "
            f"{max(0.25 * lap - joint.fit, 0.0):.1f} or less (0 for none), or a longer split.lap",
        )
    cutters: list[TriangleMesh] = []
    for points, halves in _sections(wall, joint, here):
        along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
        if along[-1] < 2.0 * needed:
            raise JobError(
                "split.pin",
                f"{diameter:g} needs {2.0 * needed:.1f} mm of width, the fender has {along[-1]:.1f} mm at its cut at station "
                f"{float(station_of(points[0])):+.0f}; use a thinner pin or 0 for none",
            )
        room = along[-1] - 2.0 * needed
        for place in np.linspace(needed, along[-1] - needed, max(2, int(np.ceil(room / SPACING)) + 1)):
            foot = np.array([np.interp(place, along, column) for column in points.T])
            way = np.array([np.interp(place, along, column) for column in halves.T])
            way *= 1.0 + _PAST_FACE / np.linalg.norm(way)
            cutters.append(prism(foot - way, foot + way, 0.5 * hole, _SIDES))
    return tuple(cutters)


def _sections(wall: ClosedWall, joint: Joint, here: Mask) -> list[tuple[Array, Array]]:
    """Points (k, 3) and half the wall across them (k, 3), outward, along each line in which the joint's plane cuts the middle of the wall."""
    middle, half = 0.5 * (wall.outer + wall.inner), 0.5 * (wall.outer - wall.inner)
    off = joint.along(middle)
    outward = np.cross(joint.normal, np.array([1.0, 0.0, 0.0]))
    ahead = off > 0.0
    corners = wall.triangles[(here & (middle @ outward > 0.0))[wall.triangles].all(axis=1)]
    edges = np.sort(np.stack([corners, np.roll(corners, -1, axis=1)], axis=2), axis=2)
    crossed = ahead[edges[..., 0]] != ahead[edges[..., 1]]
    hit = crossed.any(axis=1)
    cut, spot = np.unique(edges[hit][crossed[hit]], axis=0, return_inverse=True)
    one, two = cut.T
    share = (off[one] / (off[one] - off[two]))[:, None]
    points = middle[one] + share * (middle[two] - middle[one])
    halves = half[one] + share * (half[two] - half[one])
    return [(points[line], halves[line]) for line in _lines(len(cut), spot.reshape(-1, 2))]


def _lines(count: int, links: Index) -> list[list[int]]:
    """Rows of points from end to end, of points that are linked in pairs."""
    neighbors: list[list[int]] = [[] for _ in range(count)]
    for one, two in links.tolist():
        neighbors[one].append(two)
        neighbors[two].append(one)
    seen: set[int] = set()
    lines = []
    for start in (i for i in range(count) if len(neighbors[i]) == 1):
        line, here = [], start
        while here not in seen:
            seen.add(here)
            line.append(here)
            here = next((other for other in neighbors[here] if other not in seen), here)
        if len(line) > 1:
            lines.append(line)
    return lines
