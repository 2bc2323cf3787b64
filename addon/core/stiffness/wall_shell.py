# SPDX-License-Identifier: GPL-3.0-or-later
"""The shell of a fender: its wall as far fewer triangles, fine where it bends, at ribs and at bolts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..wall.closed_wall import ClosedWall
from .coarsen import Surface, coarsened
from .shell_mesh import ShellMesh

_NORMAL_MM = 15.0
_STEP = 3.0
"""What a turn of the normal by one radian, and a step of the wall by one mm, add to the length of an edge: where the wall bends
or a rib rises, triangles are smaller. Our choice; convergence is what tells."""
_AT_BOLTS = 2.0
_BOLT_REACH = 3.0
"""How much finer triangles are at a bolt, and up to how many times the radius that is held; our choice."""
_RIM_POINTS = 8
"""Points on the rim of what a bolt clamps, the same however fine the rest is."""


@dataclass(frozen=True, eq=False)
class Support:
    """A bolt. place : (3,) float, mm, where its axis meets the wall; axis : (3,) float, unit; radius : of what it clamps, mm"""

    place: Array
    axis: Array
    radius: float


@dataclass(frozen=True, eq=False)
class WallShell:
    """mesh : of the middle of the wall; source : (n,) int, point of the wall that each of its points is; fixed : (n, 6) bool"""

    mesh: ShellMesh
    source: Index
    fixed: Mask


def wall_shell(wall: ClosedWall, supports: tuple[Support, ...], most: int) -> WallShell:
    """A shell of at most about `most` triangles that is held at the bolts.

    What lies under the washer of a bolt is held in all directions.
    """
    middle, rise = 0.5 * (wall.outer + wall.inner), wall.outer - wall.inner
    thickness = np.linalg.norm(rise, axis=1)
    lifted = np.column_stack([_near_bolts(middle, supports), _NORMAL_MM * wall.normals, _STEP * wall.rib, _STEP * thickness])
    rims = [_rim(middle, support) for support in supports]
    pinned, held = np.zeros(len(middle), bool), np.zeros(len(middle), bool)
    pinned[np.concatenate(rims)] = True
    triangles = coarsened(Surface(middle, wall.normals, lifted, wall.triangles, pinned), most)
    for support, rim in zip(supports, rims, strict=True):
        held |= _off_axis(middle, support) < support.radius
        middle[rim] = _on_rim(middle[rim], support)
    source, numbers = np.unique(triangles, return_inverse=True)
    mesh = ShellMesh(middle[source], numbers.reshape(-1, 3), thickness[source])
    return WallShell(mesh, source, np.repeat((held | pinned)[source, None], 6, axis=1))


def _rim(points: Array, support: Support) -> Index:
    """The points nearest to evenly spread ones on the rim of what a bolt clamps."""
    one = np.cross(support.axis, np.eye(3)[int(np.argmin(np.abs(support.axis)))])
    one /= np.linalg.norm(one)
    turn = 2.0 * np.pi * np.arange(_RIM_POINTS) / _RIM_POINTS
    nearest = points[np.argmin(_off_axis(points, support))]
    center = support.place + ((nearest - support.place) @ support.axis) * support.axis
    rim = center + support.radius * (np.outer(np.cos(turn), one) + np.outer(np.sin(turn), np.cross(support.axis, one)))
    return np.unique([int(np.argmin(np.linalg.norm(points - place, axis=1))) for place in rim])


def _on_rim(points: Array, support: Support) -> Array:
    """Points moved straight away from the axis of a bolt, or toward it, to the rim of what it clamps."""
    way = points - support.place
    along = (way @ support.axis)[:, None] * support.axis
    off = way - along
    return np.asarray(support.place + along + support.radius * off / np.linalg.norm(off, axis=1, keepdims=True))


def _off_axis(points: Array, support: Support) -> Array:
    """Distance of points from the axis of a bolt; far along it counts too, for a fender comes back to it on the other side."""
    way = points - support.place
    along = way @ support.axis
    off = np.linalg.norm(way - along[:, None] * support.axis, axis=1)
    return np.asarray(np.where(np.abs(along) > 2.0 * support.radius, np.linalg.norm(way, axis=1), off))


def _near_bolts(points: Array, supports: tuple[Support, ...]) -> Array:
    """Points (n, 3) pulled away from the bolts, so that what is near them counts as larger."""
    moved = points.copy()
    for support in supports:
        way = points - support.place
        far = np.linalg.norm(way, axis=1)
        reach = _BOLT_REACH * support.radius
        share = np.clip(far / reach, 0.0, 1.0)
        moved += ((_AT_BOLTS - 1.0) * (1.0 - share) ** 2)[:, None] * way
    return moved
