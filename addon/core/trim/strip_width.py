# SPDX-License-Identifier: GPL-3.0-or-later
"""How narrow a surface gets between its edges."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..mesh.open_surface import Surface

_CHUNK = 64
"""Points of a ring in a row, whose neighbors are looked for in the box around them."""
_AROUND = 8.0
"""Points of one edge face each other only if the way along it is longer than this, in widths: else they are of one corner. Corners
of less than 14 degrees count as strips too."""


def narrowest_strip(surface: Surface, least: float) -> tuple[float, Array] | None:
    """Where two edges of a surface are nearer to each other than `least`, mm: their distance and the place (3,) between them.

    None if they are nowhere so near. Two rings face each other anywhere, points of one ring where it comes back to itself.
    """
    boundary = surface.boundary
    rings = [boundary.vertex[ring] for ring in boundary.rings]
    points = surface.points[np.concatenate(rings)]
    ring_of = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    along, around = np.zeros(len(points)), np.zeros(len(points))
    for number, ring in enumerate(rings):
        steps = np.linalg.norm(np.roll(surface.points[ring], -1, axis=0) - surface.points[ring], axis=1)
        along[ring_of == number], around[ring_of == number] = np.cumsum(steps) - steps, steps.sum()
    best: tuple[float, Array] | None = None
    for first in range(0, len(points), _CHUNK):
        here = points[first : first + _CHUNK]
        near = np.flatnonzero(((points > here.min(axis=0) - least) & (points < here.max(axis=0) + least)).all(axis=1))
        rows = slice(first, first + _CHUNK)
        apart2 = np.square(here[:, None, :] - points[None, near, :]).sum(axis=2)
        way = np.abs(along[rows][:, None] - along[None, near])
        way = np.minimum(way, around[rows][:, None] - way)
        facing = (ring_of[rows][:, None] != ring_of[None, near]) | (way > _AROUND * least)
        apart2 = np.where(facing, apart2, np.inf)
        one, other = np.unravel_index(int(np.argmin(apart2)), apart2.shape)
        distance = float(np.sqrt(apart2[one, other]))
        if distance < (least if best is None else best[0]):
            best = distance, 0.5 * (here[one] + points[near[other]])
    return best
