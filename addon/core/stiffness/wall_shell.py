# SPDX-License-Identifier: GPL-3.0-or-later
"""The shell of a fender: its wall as far fewer triangles, fine where it bends, at ribs and at bolts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..shells.shell_mesh import ShellMesh
from ..tables.strength.stiffness_rules import HAND_PATCH_MM
from ..wall.closed_wall import ClosedWall
from .coarsen import DenseSurface, coarsened, is_sound
from .loads import tip_points
from .support import Support

_NORMAL_MM = 15.0
_STEP = 3.0
"""What a turn of the normal by one radian, and a step of the wall by one mm, add to the length of an edge: where the wall bends
or a rib rises, triangles are smaller. Our choice; convergence is what tells."""
_FINER = 2.0
_REACH = 3.0
"""How much finer triangles are at a bolt and at a tip, and up to how many times the radius that is held or pushed; our choice."""


@dataclass(frozen=True, eq=False)
class WallShell:
    """mesh : of the middle of the wall; fixed : (n, 6) bool, as ShellModel takes it"""

    mesh: ShellMesh
    fixed: Mask


def wall_shells(wall: ClosedWall, supports: tuple[Support, ...], *most: int) -> tuple[WallShell, ...]:
    """Shells that are held at the bolts, each of at most about so many triangles, the finest first.

    What lies under the washer of a bolt is held in all directions; points are moved onto its rim where no triangle folds by that. Rims are left out: they make the part a little stiffer.
    Raises ValueError if there are no supports.
    """
    if not supports:
        raise ValueError("supports: there are none")
    middle, rise = 0.5 * (wall.outer + wall.inner), wall.outer - wall.inner
    thickness = np.linalg.norm(rise, axis=1)
    tips = tip_points(middle)
    places = [(support.place, _REACH * support.radius) for support in supports]
    places += [(middle[tip], _REACH * HAND_PATCH_MM) for tip in tips]
    lifted = np.column_stack([_drawn_out(middle, places), _NORMAL_MM * wall.normals, _STEP * wall.rib, _STEP * thickness])
    rims = [support.rim(middle) for support in supports]
    pinned, held = np.zeros(len(middle), bool), np.zeros(len(middle), bool)
    held[np.concatenate(rims)] = True
    pinned[np.concatenate([*rims, tips])] = True
    dense = DenseSurface(middle, wall.normals, lifted, wall.triangles, pinned)
    thinned = []
    for count in most:
        dense = replace(dense, triangles=coarsened(dense, count))
        thinned.append(dense.triangles)
    placed = middle.copy()
    for support, rim in zip(supports, rims, strict=True):
        held |= support.off_axis(middle) < support.radius
        placed[rim] = support.on_rim(middle[rim])
    for triangles in thinned:
        folded = triangles[~is_sound(placed, wall.normals, triangles)]
        placed[folded] = middle[folded]
    return tuple(_shell(placed, thickness, held, triangles) for triangles in thinned)


def _shell(points: Array, thickness: Array, held: Mask, triangles: Index) -> WallShell:
    source, numbers = np.unique(triangles, return_inverse=True)
    mesh = ShellMesh(points[source], numbers.reshape(-1, 3), thickness[source])
    return WallShell(mesh, np.repeat(held[source, None], 6, axis=1))


def _drawn_out(points: Array, places: Sequence[tuple[Array, float]]) -> Array:
    """Points (n, 3) pulled away from places, up to a reach of each, so that what is near them counts as larger."""
    moved = points.copy()
    for place, reach in places:
        way = points - place
        share = np.clip(np.linalg.norm(way, axis=1) / reach, 0.0, 1.0)
        moved += ((_FINER - 1.0) * (1.0 - share) ** 2)[:, None] * way
    return moved
