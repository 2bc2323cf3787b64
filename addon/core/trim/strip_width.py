# SPDX-License-Identifier: GPL-3.0-or-later
"""How narrow a surface gets between its edges."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..mesh.open_surface import Surface

_CHUNK = 512
_AROUND = 8.0
"""Points of one edge face each other only if the way along it is longer than this, in widths: else they are of one corner. Corners
of less than 14 degrees count as strips too."""


def narrowest_strip(surface: Surface, least: float) -> tuple[float, Array] | None:
    """Where two edges of a surface are nearer to each other than `least`, mm: their distance and the place (3,) between them.

    None if they are nowhere so near. Two rings face each other anywhere, points of one ring where it comes back to itself.
    """
    boundary = surface.boundary
    points = surface.points[boundary.vertex]
    ring_of, along, around = np.zeros(len(points), np.int64), np.zeros(len(points)), np.zeros(len(points))
    for number, ring in enumerate(boundary.rings):
        steps = np.linalg.norm(points[np.roll(ring, -1)] - points[ring], axis=1)
        ring_of[ring], along[ring], around[ring] = number, np.cumsum(steps) - steps, steps.sum()
    best: tuple[float, Array] | None = None
    for first in range(0, len(points), _CHUNK):
        rows = slice(first, first + _CHUNK)
        apart2 = np.square(points[rows][:, None, :] - points[None, :, :]).sum(axis=2)
        way = np.abs(along[rows][:, None] - along[None, :])
        way = np.minimum(way, around[rows][:, None] - way)
        facing = (ring_of[rows][:, None] != ring_of[None, :]) | (way > _AROUND * least)
        apart2 = np.where(facing, apart2, np.inf)
        at = int(np.argmin(apart2))
        one, other = first + at // len(points), at % len(points)
        distance = float(np.sqrt(apart2.ravel()[at]))
        if distance < (least if best is None else best[0]):
            best = distance, 0.5 * (points[one] + points[other])
    return best
