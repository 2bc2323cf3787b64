# SPDX-License-Identifier: GPL-3.0-or-later
"""Crown line and edge line of a half cage's skin."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from ..base.errors import CageError
from ..base.wheel_axes import station_of
from ..skin.cage import Cage
from ..skin.skin_stencil import SkinStencil

COLUMNS = {"side": (1, 2), "top": (0, 1)}
"""Coordinates that a view shows, as those of trim lines."""


def own_rows(cage: Cage, stencil: SkinStencil, part: str) -> Index:
    """Skin points of a line of the fender, from its rear to its front. part : "crown" or "edge", that of the rider's left

    Raises CageError if the cage is no half with its mirror, or its edge is not one line from tip to tip.
    """
    if not cage.topology.mirrored:
        raise CageError("the lines of the fender are taken from a half cage with its mirror; make the cage a half first")
    points = stencil.position.apply(cage.points)
    on_plane = np.flatnonzero(stencil.on_plane)
    crown = on_plane[np.argsort(station_of(points[on_plane]))]
    if part == "crown":
        return crown
    chain = _chain(stencil.boundary_edges, int(crown[0]))
    if chain[-1] != crown[-1]:
        raise CageError("the edge of the cage is not one line from its rear tip to its front tip; close its holes first")
    return np.array(chain)


def own_line(cage: Cage, stencil: SkinStencil, rows: Index, view: str) -> Array:
    """The line (k, 2) float, mm, as a view shows it."""
    return np.asarray(stencil.position.apply(cage.points)[rows][:, COLUMNS[view]])


def _chain(edges: Index, start: int) -> list[int]:
    """Points from a start along edges, until there is no further one."""
    around: dict[int, list[int]] = {}
    for a, b in edges.tolist():
        around.setdefault(a, []).append(b)
        around.setdefault(b, []).append(a)
    chain = [start]
    while True:
        further = [point for point in around.get(chain[-1], ()) if len(chain) < 2 or point != chain[-2]]
        if not further or further[0] == start:
            return chain
        chain.append(further[0])
