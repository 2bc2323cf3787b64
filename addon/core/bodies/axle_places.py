# SPDX-License-Identifier: GPL-3.0-or-later
"""Where an axle may be in the center plane: in its slot, along the fork, about a pivot."""

from __future__ import annotations

import math
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, frozen
from ..base.convex_polygon import convex_hull
from ..base.row_vectors import dot_rows


class AxlePlaces(Protocol):
    """A set of places (y, z), mm. convex : True if the set is convex."""

    @property
    def convex(self) -> bool: ...

    def nearest(self, places: Array) -> Array:
        """The places (n, 2) of the set that are nearest to given ones (n, 2)."""
        ...


class HullPlaces:
    """The convex hull of corners: a point, a segment (slot or fork travel), or a polygon (both)."""

    def __init__(self, corners: ArrayLike) -> None:
        """corners : (c, 2) float, (y, z), mm, c >= 1"""
        self.corners: Array = frozen(convex_hull(np.asarray(corners, dtype=np.float64).reshape(-1, 2)))

    @property
    def convex(self) -> bool:
        return True

    def nearest(self, places: Array) -> Array:
        """As AxlePlaces; a place inside is its own nearest one."""
        if len(self.corners) == 1:
            return np.broadcast_to(self.corners[0], places.shape)
        start = self.corners
        edge = np.roll(start, -1, axis=0) - start
        if len(start) == 2:
            return _foot(places, start[0], edge[0])
        best, least = np.zeros_like(places), np.full(len(places), np.inf)
        inside = np.ones(len(places), bool)
        for corner, way in zip(start, edge, strict=True):
            away, foot = places - corner, _foot(places, corner, way)
            gap = ((places - foot) ** 2).sum(axis=1)
            nearer = gap < least
            least[nearer], best[nearer] = gap[nearer], foot[nearer]
            inside &= way[0] * away[:, 1] - way[1] * away[:, 0] >= 0.0
        best[inside] = places[inside]
        return best


def _foot(places: Array, corner: Array, way: Array) -> Array:
    """The points (n, 2) of the segment from a corner along a way that are nearest to places (n, 2); one column at a time is faster."""
    share = (places[:, 0] - corner[0]) * way[0]
    share += (places[:, 1] - corner[1]) * way[1]
    share /= way @ way
    np.maximum(share, 0.0, out=share)
    np.minimum(share, 1.0, out=share)
    return np.stack([corner[0] + share * way[0], corner[1] + share * way[1]], axis=1)


class ArcPlaces:
    """A band about a pivot: between two radii (the slot) and two turns from the place at rest (the travel). Exact, not convex."""

    def __init__(self, pivot: ArrayLike, radii: tuple[float, float], turns_deg: tuple[float, float]) -> None:
        """pivot : (2,) float, (y, z) from the axle at rest, mm; radii : mm, least and most, 0 < least <= most; turns_deg : least
        and most, degrees, right-handed about +x, within -90..90. Raises ValueError otherwise.
        """
        self.pivot: Array = frozen(np.asarray(pivot, dtype=np.float64).reshape(2))
        if not 0.0 < radii[0] <= radii[1]:
            raise ValueError(f"radii: {radii}, expected two lengths over 0, the least one first")
        if not -90.0 <= turns_deg[0] <= turns_deg[1] <= 90.0:
            raise ValueError(f"turns: {turns_deg} degrees, expected two within -90 to 90, the least one first")
        self.radii = (float(radii[0]), float(radii[1]))
        rest = math.atan2(-self.pivot[1], -self.pivot[0])
        self._middle = rest + math.radians(0.5 * (turns_deg[0] + turns_deg[1]))
        self._half = math.radians(0.5 * (turns_deg[1] - turns_deg[0]))

    @property
    def convex(self) -> bool:
        return False

    def nearest(self, places: Array) -> Array:
        """As AxlePlaces: of a point past the band's turns, on its nearer end; else straight toward or from the pivot."""
        away = places - self.pivot
        angle = np.arctan2(away[:, 1], away[:, 0]) - self._middle
        angle = (angle + np.pi) % (2.0 * np.pi) - np.pi
        within = np.abs(angle) <= self._half
        end = self._middle + np.copysign(self._half, angle)
        heading = np.stack([np.cos(end), np.sin(end)], axis=1)
        along = np.clip(dot_rows(away, heading), *self.radii)
        ends = along[:, None] * heading
        length = np.maximum(np.linalg.norm(away, axis=1), 1e-300)
        straight = (np.clip(length, *self.radii) / length)[:, None] * away
        return np.asarray(self.pivot + np.where(within[:, None], straight, ends))
