# SPDX-License-Identifier: GPL-3.0-or-later
"""Round holes in a flat face that is given as points."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array, Index, Mask
from ...fits.fit_circle import fit_circle, linear_circle
from ..data.scan_data import random_rows
from .hole_fit import HoleFit, fit_hole

RING = 36
"""Directions about a hole in which its edge is looked for."""
FULLEST = 0.7
"""Share of the directions in which an edge must be seen."""
ROUND = 0.12
"""Largest deviation of the edge from a circle, as share of the radius; more is a slot or a cut-out."""
SPOILED = 0.3
"""Of the radius: no part of the rim counts as further off than this, so that one part that is spoiled does not spoil the hole."""
CHANCE = 1.5
"""Of the mean distance from the edge to the nearest point in a direction: the deviation from a circle that chance explains."""
CLEAR = 12.0
"""Gain of the logarithm of the likelihood of a hole over an even face; about the points that the hole would hold if it were
none. With less it may be a chance gap."""
SLAB = 4.0
"""Half thickness of the face, in standard deviations of its noise, in which holes are looked for."""
ROUGH_POINTS = 120_000
"""Points of a face in which holes are looked for; they are measured by all."""
ROUGHLY = 0.7
"""A hole whose rough diameter is under the least by no more than this factor is measured: noise and the points of its wall
make it look smaller than it is."""


@dataclass(frozen=True, eq=False)
class HoleCircle:
    """center (2,) in the plane's coordinates, diameter and standard deviations, mm."""

    center: Array
    diameter: float
    center_sigma: float
    diameter_sigma: float


def hole_circles(points: Array, smallest: float, largest: float, sigma: float) -> list[HoleCircle]:
    """Holes with a diameter of smallest to largest, nearest the first coordinate's low end first.

    points : (n, 3) float, mm, of the face and of what lies below it: two coordinates in its plane, and the height out of it;
        evenly spread over the face. sigma : standard deviation of the face's points out of it, mm
    Each is found as an empty place, and measured by its rim and wall together: see fit_hole.
    """
    found = []
    face = random_rows(_in_face(points, sigma), ROUGH_POINTS, np.random.default_rng(len(points)))
    for seed in rough_holes(face, ROUGHLY * smallest, largest):
        hole = _measured(points, seed, sigma)
        if hole is not None and smallest <= hole.diameter <= largest:
            found.append(hole)
    return sorted(_once(found), key=lambda hole: tuple(np.round(hole.center, 3)))


def hole_at(points: Array, center: Array, largest: float, sigma: float) -> HoleCircle | None:
    """The hole about a point (2,), or None if there is no round edge about it. points, sigma : as for hole_circles."""
    flat = _in_face(points, sigma)
    rough = _rough(flat, center, _spacing(flat), largest) if len(flat) >= 50 else None
    return None if rough is None else _measured(points, rough, sigma)


def rough_holes(flat: Array, smallest: float, largest: float) -> list[HoleCircle]:
    """Where holes are and about how large, quickly; the diameters come out too small by the noise.

    flat : (n, 2) float, mm, points of the face in its plane, evenly spread
    Empty cells of a raster that no path of empty cells joins to the outside are a hole's seed; its edge is where the
    points begin: center by a circle through the nearest points in 36 directions, radius from how the number of points
    grows with the squared distance.
    """
    if len(flat) < 50:
        return []
    spacing = _spacing(flat)
    cell = max(2.5 * spacing, smallest / 12.0)
    origin = flat.min(axis=0) - 2.0 * cell
    index = np.floor((flat - origin) / cell).astype(np.int64)
    size = index.max(axis=0) + 3
    filled = np.zeros(size, bool)
    filled[index[:, 0], index[:, 1]] = True
    found = []
    for seed in _enclosed(~filled):
        if len(seed) * cell**2 < 0.2 * smallest**2:
            continue  # stray points may part a hole's empty cells, but a fifth of them hang together
        center = origin + (seed.mean(axis=0) + 0.5) * cell
        near = flat[np.abs(flat - center).max(axis=1) < 1.5 * largest]
        hole = _rough(near, center, spacing, largest)
        if hole is not None and smallest <= hole.diameter <= largest:
            found.append(hole)
    return _once(found)


def _in_face(points: Array, sigma: float) -> Array:
    return np.asarray(points[np.abs(points[:, 2]) < max(SLAB * sigma, 0.05), :2])


def _measured(points: Array, rough: HoleCircle, sigma: float) -> HoleCircle | None:
    away = np.abs(points[:, :2] - rough.center).max(axis=1)
    fit = fit_hole(points[away < 2.5 * rough.diameter + 4.0 * sigma], rough.center, 0.5 * rough.diameter, sigma)
    if fit is None or fit.gain < CLEAR or _out_of_round(fit) > ROUND * fit.radius:
        return None
    center_sigma = float(np.sqrt(np.trace(fit.covariance[:2, :2]) / 2.0))
    return HoleCircle(fit.center, 2.0 * fit.radius, center_sigma, 2.0 * float(np.sqrt(fit.covariance[2, 2])))


def _out_of_round(fit: HoleFit) -> float:
    """Root mean square of how far the parts of the rim lie beside the circle, less what their doubt explains, mm."""
    known = np.isfinite(fit.parts[:, 1])
    off = np.minimum(np.abs(fit.parts[known, 0]), SPOILED * fit.radius)
    excess = off**2 - fit.parts[known, 1] ** 2
    return float(np.sqrt(max(excess.mean(), 0.0))) if known.any() else 0.0


def _once(found: list[HoleCircle]) -> list[HoleCircle]:
    """Each hole once: stray points inside of a hole part its empty cells into several groups."""
    kept: list[HoleCircle] = []
    for hole in sorted(found, key=lambda hole: hole.center_sigma):
        if all(np.linalg.norm(hole.center - old.center) > 0.5 * (hole.diameter + old.diameter) for old in kept):
            kept.append(hole)
    return kept


def _spacing(flat: Array) -> float:
    """Mean distance of the points: the root of the area of filled raster cells for each point."""
    extent = float(np.ptp(flat, axis=0).max())
    cell = extent / 40.0
    index = np.floor((flat - flat.min(axis=0)) / cell).astype(np.int64)
    filled = np.count_nonzero(np.bincount(index[:, 0] * (index[:, 1].max() + 1) + index[:, 1]))
    return float(np.sqrt(filled * cell**2 / len(flat)))


def _enclosed(empty: Mask) -> list[Index]:
    """Groups of empty cells (k, 2) that do not reach the raster's rim."""
    open_cells = set(map(tuple, np.argwhere(empty).tolist()))
    groups = []
    while open_cells:
        stack = [open_cells.pop()]
        group = list(stack)
        while stack:
            i, j = stack.pop()
            for neighbor in ((i - 1, j), (i + 1, j), (i, j - 1), (i, j + 1)):
                if neighbor in open_cells:
                    open_cells.remove(neighbor)
                    stack.append(neighbor)
                    group.append(neighbor)
        cells = np.array(group, dtype=np.int64)
        if cells.min() > 0 and (cells.max(axis=0) < np.array(empty.shape) - 1).all():
            groups.append(cells)
    return groups


def _rough(flat: Array, center: Array, spacing: float, largest: float) -> HoleCircle | None:
    for _ in range(6):
        edge = _edge(flat, center, largest)
        if len(edge) < FULLEST * RING:
            return None
        center = linear_circle(edge)[0]
    circle = fit_circle(edge)
    # where points are few, the nearest one in a direction lies further out by chance
    chance = CHANCE * RING * spacing**2 / (2.0 * np.pi * max(circle.radius, spacing))
    if np.std(circle.residuals) > max(ROUND * circle.radius, 1.2 * spacing, chance):
        return None
    away = np.sum((flat - circle.center) ** 2, axis=1)
    squares = np.sort(away[away < (1.6 * circle.radius) ** 2])
    if len(squares) < 20:
        return None
    # points spread evenly outside of the edge have even steps in squared distance: a line that starts at the edge
    slope, start = np.polyfit(np.arange(1.0, len(squares) + 1.0), squares, 1)
    radius = float(np.sqrt(max(start, 0.0)))
    center_sigma = float(np.sqrt(np.trace(circle.covariance[:2, :2]) / 2.0))
    # the squared distances are sums of even steps of random length: standard deviation of such a line's start
    sigma = float(slope * np.sqrt(2.0 * len(squares) / 15.0) / (2.0 * max(radius, 1e-9)))
    return HoleCircle(circle.center, 2.0 * radius, center_sigma, 2.0 * sigma)


def _edge(flat: Array, center: Array, largest: float) -> Array:
    """The nearest point (k, 2) in each of the directions about a center, where there is one within the largest diameter."""
    away = flat - center
    distance = np.hypot(away[:, 0], away[:, 1])
    near = np.flatnonzero(distance < largest)
    sector = np.floor((np.arctan2(away[near, 1], away[near, 0]) + np.pi) / (2.0 * np.pi) * RING).astype(np.int64) % RING
    order = near[np.lexsort((distance[near], sector))]
    sector = np.sort(sector)
    first = np.concatenate([[True], sector[1:] != sector[:-1]]) if len(sector) else np.zeros(0, bool)
    return np.asarray(flat[order[first]])
