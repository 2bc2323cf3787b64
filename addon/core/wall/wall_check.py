# SPDX-License-Identifier: GPL-3.0-or-later
"""How thick the wall really is, measured on the mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.errors import ShapeError
from ..base.format_place import format_place
from ..mesh.ray_lengths import ray_lengths
from .closed_wall import ClosedWall

SAMPLES = 4000
LONGEST = 20.0
"""Of the rays, in walls."""


@dataclass(frozen=True, eq=False)
class WallStats:
    """Measured wall, mm. p1, p99 : away from seats and ribs; min, max : everywhere but the rim; thinnest : (3,) where the least is

    asked_min : least that was asked; off : 99th percentile of how far the wall is from what was asked there, share, away from seats and ribs
    """

    nominal: float
    p1: float
    p99: float
    min: float
    max: float
    thinnest: Array
    asked_min: float
    off: float


def wall_stats(wall: ClosedWall, seed: int = 1) -> WallStats:
    """The wall's thickness by rays from the middles of facets of both faces, square to them, to the next facet of the mesh.

    SAMPLES facets, drawn by their area, half on either face. Raises ShapeError if a ray does not leave the part.
    """
    count = len(wall.triangles)
    areas = np.linalg.norm(wall.mesh.area_vectors[: 2 * count], axis=1)
    rng = np.random.default_rng(seed)
    chosen = np.concatenate(
        [
            first + rng.choice(count, size=SAMPLES // 2, p=areas[first : first + count] / areas[first : first + count].sum())
            for first in (0, count)
        ]
    )
    starts = wall.mesh.corners[chosen].mean(axis=1)
    inward = -wall.mesh.area_vectors[chosen] / areas[chosen, None]
    thickness = ray_lengths(wall.body, starts, inward, LONGEST * wall.thickest)
    if np.isinf(thickness).any():
        place = starts[np.argmax(thickness)]
        raise ShapeError(
            f"the part is more than {LONGEST:g} walls thick {format_place(place)}; use a seat of constant wall", place
        )
    apart = (wall.seat_weight == 0.0) & (wall.rib == 0.0)
    plain = apart[wall.triangles[chosen % count]].all(axis=1)
    low, high = np.percentile(thickness[plain], [1.0, 99.0])
    least = int(np.argmin(thickness))
    asked = wall.asked[wall.triangles[chosen % count]].mean(axis=1)
    off = float(np.percentile(np.abs(thickness / asked - 1.0)[plain], 99.0))
    return WallStats(
        nominal=wall.thickness,
        p1=float(low),
        p99=float(high),
        min=float(thickness.min()),
        max=float(thickness.max()),
        thinnest=starts[least],
        asked_min=float(wall.asked.min()),
        off=off,
    )
