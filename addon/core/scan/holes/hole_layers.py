# SPDX-License-Identifier: GPL-3.0-or-later
"""The points about one hole, parted by depth: those of the face and the rim, and those of the wall below it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array, Index, Mask
from ..data.scan_data import random_rows

SECTORS = 8
"""Parts of the circle that are seen or not seen, each by itself: a scanner that looks in from one side sees half a wall."""
SLAB = 2.5
"""Half thickness of the layer that counts as the face, in standard deviations of the noise. The wall in it is told from the
layer of the same thickness next to it, where there is no face."""
LEAST_SLAB = 0.05
DEEPEST = 15.0
"""How far below the face the wall of a hole is looked at, mm."""
LAYER_POINTS = 4000
BLUR_POINTS = 6.0
"""Points that the band of noise about the rim shall hold. Where the scan's own noise makes it hold fewer, the points of the
face are blurred to it: a likelihood of sharp edges has no standard deviation."""
COPIES = 6
"""Blurred copies of each point, each with its share of the weight."""
LEAST_WALL = 4
"""Points below the face and near the rim from which a wall is seen at all; noise alone leaves fewer there."""
BACK_FACE = 0.2
"""Share of the face's density from which points beside the hole are another face."""


@dataclass(frozen=True, eq=False)
class HoleLayer:
    """away (n, 2) from the start's center, mm; weights (n,); sectors (n,) int; blur : standard deviation added to away, mm;
    depth : mm of wall in the layer; part : "face", "next" for the layer of the same thickness below it, which sees the same
    wall, and "lower" for the wall further down"""

    away: Array
    weights: Array
    sectors: Index
    blur: float
    depth: float
    part: str


@dataclass(frozen=True, eq=False)
class HoleLayers:
    """layers : the face's first; reach : radius of the window, mm; seen : (SECTORS,) bool, parts with a face about the hole;
    density : points of the face per mm2"""

    layers: tuple[HoleLayer, ...]
    reach: float
    seen: Mask
    density: float

    @property
    def share(self) -> float:
        return float(self.seen.mean())


def hole_layers(points: Array, center: Array, radius: float, sigma: float, reach: float) -> HoleLayers | None:
    """The layers about a hole that is roughly known; None if too little face is seen about it.

    points : (n, 3) float, mm, the last coordinate out of the face; center : (2,), radius : mm; sigma : the noise, mm
    """
    away = points[:, :2] - center
    near = np.hypot(away[:, 0], away[:, 1]) < reach
    away, height = away[near], points[near, 2]
    half = max(SLAB * sigma, LEAST_SLAB)
    face = away[np.abs(height) < half]
    sectors, distance = sectors_of(face), np.hypot(face[:, 0], face[:, 1])
    inner = min(radius + 2.0 * sigma, 0.5 * (radius + reach))
    counts = np.bincount(sectors[distance > inner], minlength=SECTORS)
    seen = counts > 0.35 * np.median(counts[counts > 0]) if counts.any() else np.zeros(SECTORS, bool)
    if np.count_nonzero(seen) < SECTORS // 2 or counts[seen].sum() < 12:
        return None
    area = np.pi * (reach**2 - inner**2) * seen.mean()
    density = float(counts[seen].sum() / area)
    blur = float(np.sqrt(max((BLUR_POINTS / (2.0 * np.pi * radius * density)) ** 2 - sigma**2, 0.0)))
    blur = min(blur, 0.3 * radius)
    sign = _wall_side(away, height, radius, sigma, half)
    below = -sign * height
    found = [_layer(face, seen, reach, half, "face", _blurs(len(points), blur)[:, near][:, np.abs(height) < half], blur)]
    ring_end, back = _wall_end(away, below, radius, sigma, half, density * seen.mean(), reach)
    ring = np.abs(np.hypot(away[:, 0], away[:, 1]) - radius) < 3.0 * sigma + 0.15 * radius
    wall = np.count_nonzero(ring & (below > half) & (below < max(ring_end, 2.0 * half))) >= LEAST_WALL
    for low, high, part in ((half, 2.0 * half, "next"), (2.0 * half, ring_end, "lower")):
        if high > low and wall:
            rows = (below > low) & (below <= high)
            found.append(_layer(away[rows], seen, reach, max(min(high, back) - low, 0.02 * half), part))
    return HoleLayers(tuple(found), reach, seen, density)


def sectors_of(away: Array) -> Index:
    """Which of SECTORS each of (n, 2) lies in."""
    turn = (np.arctan2(away[:, 1], away[:, 0]) / (2.0 * np.pi)) % 1.0
    return np.minimum((turn * SECTORS).astype(np.int64), SECTORS - 1)


def _blurs(count: int, blur: float) -> Array:
    """Shifts (COPIES, count, 2), mm, of the blurred copies of each point; (0, count, 2) without a blur.

    A point keeps its own, whichever others are in the window: else one point more or less, which the rounding of a processor
    may decide, would blur all of them anew, and the circle with them.
    """
    if blur == 0.0:
        return np.zeros((0, count, 2))
    shifts = np.random.default_rng(count).normal(0.0, blur, (count, COPIES // 2, 2)).swapaxes(0, 1)
    return np.concatenate([shifts, -shifts])


def _layer(
    away: Array, seen: Mask, reach: float, depth: float, part: str, blurs: Array | None = None, blur: float = 0.0
) -> HoleLayer:
    """blurs : see _blurs, of these points"""
    rows = np.flatnonzero(seen[sectors_of(away)])
    weight = max(len(rows) / LAYER_POINTS, 1.0)
    rows = random_rows(rows, LAYER_POINTS, np.random.default_rng(len(rows)))  # the same points give the same result
    copies = 1
    if blurs is not None and len(blurs) and len(rows):
        copies = len(blurs)
        away = (away[rows] + blurs[:, rows]).reshape(-1, 2)
        away = away[np.hypot(away[:, 0], away[:, 1]) < reach]
    else:
        away = away[rows]
    sectors = sectors_of(away)
    kept = seen[sectors]
    return HoleLayer(away[kept], np.full(np.count_nonzero(kept), weight / copies), sectors[kept], blur, depth, part)


def _wall_side(away: Array, height: Array, radius: float, sigma: float, half: float) -> float:
    """1 if the wall goes down from the face, against its normal, and -1 if it goes up."""
    ring = np.abs(np.hypot(away[:, 0], away[:, 1]) - radius) < 3.0 * sigma + 0.25 * radius
    deep = ring & (np.abs(height) > half) & (np.abs(height) < half + 3.0)
    return 1.0 if np.count_nonzero(height[deep] < 0.0) >= np.count_nonzero(height[deep] > 0.0) else -1.0


def _wall_end(
    away: Array, below: Array, radius: float, sigma: float, half: float, density: float, reach: float
) -> tuple[float, float]:
    """How deep the wall is looked at, and how deep the plate's other face lies (infinite if it is not seen), mm."""
    distance = np.hypot(away[:, 0], away[:, 1])
    step = max(half, 0.25)
    ring = np.abs(distance - radius) < 3.0 * sigma + 0.15 * radius
    beside = distance > radius + 3.0 * sigma + 0.2 * radius
    area = np.pi * (reach**2 - (radius + 3.0 * sigma + 0.2 * radius) ** 2)
    edges = np.arange(half, DEEPEST + step, step)
    walls, _ = np.histogram(below[ring], edges)
    faces, _ = np.histogram(below[beside], edges)
    other = np.flatnonzero(faces > max(BACK_FACE * density * max(area, 0.0), 4.0))
    back = (
        float(np.median(below[beside & (below > edges[other[0]]) & (below < edges[other[0]] + 2.0 * step)]))
        if len(other)
        else np.inf
    )
    empty = np.flatnonzero(walls < 2)
    end = float(edges[empty[0]]) if len(empty) else float(edges[-1])
    return min(end, back - 3.0 * sigma if np.isfinite(back) else end), back
