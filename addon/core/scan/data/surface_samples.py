# SPDX-License-Identifier: GPL-3.0-or-later
"""Evenly spread surface samples with normals, from a heap of points."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array, Index
from .scan_data import robust_extent

LEAST_PATCH = 12
"""Points in a patch of cells from which a normal is taken."""


@dataclass(frozen=True, eq=False)
class SurfaceSamples:
    """points (n, 3), one a cell; unit normals (n, 3) of unknown sign; cell: the edge of the grid, mm."""

    points: Array
    normals: Array
    cell: float


@dataclass(frozen=True, eq=False)
class Grid:
    """Cells of a cubic grid that hold points: sorted keys (c,), and the stride of a step along x and y in the key."""

    origin: Array
    cell: float
    strides: Index
    keys: Index

    def find(self, keys: Index) -> Index:
        """Place (n,) of keys in the grid, -1 where the cell is empty."""
        place = np.minimum(np.searchsorted(self.keys, keys), len(self.keys) - 1)
        return np.where(self.keys[place] == keys, place, -1)

    def keys_of(self, points: Array) -> Index:
        """Key (n,) of the cell of each point; points outside of the grid's box get keys that no cell has."""
        cells = np.floor((points - self.origin) / self.cell).astype(np.int64)
        limit = np.array([1 << 20, self.strides[0] // self.strides[1], self.strides[1]])
        inside = ((cells >= 0) & (cells < limit)).all(axis=1)
        return np.where(inside, cells @ self.strides, -(1 << 60))

    def neighbors(self) -> Index:
        """Key steps (27,) to a cell itself and to the cells around it."""
        steps = np.stack(np.meshgrid([-1, 0, 1], [-1, 0, 1], [-1, 0, 1], indexing="ij"), axis=-1).reshape(-1, 3)
        return np.asarray(steps @ self.strides)


def grid_of(points: Array, cell: float) -> tuple[Grid, Index, Index]:
    """The grid, the order (n,) of the points by cell, and the start (c,) of each cell in that order."""
    origin = points.min(axis=0) - 2.0 * cell
    cells = np.floor((points - origin) / cell).astype(np.int64)
    size = cells.max(axis=0) + 3
    strides = np.array([size[1] * size[2], size[2], 1], dtype=np.int64)
    keys = cells @ strides
    order = np.argsort(keys, kind="stable")
    ordered = keys[order]
    starts = np.flatnonzero(np.concatenate([[True], ordered[1:] != ordered[:-1]]))
    return Grid(origin, cell, strides, ordered[starts]), order, starts


def surface_samples(points: Array) -> SurfaceSamples:
    """One sample for each cell of a cubic grid: the mean of its points, and the normal of the 27 cells about it.

    points : (n, 3) float; some of them may be stray
    The cell starts at 1/250 of the extent and grows until a patch holds enough points. Cells with too few neighbors, as
    stray points have them, and patches that are no surface are left out.
    Normal of a patch: least eigenvector of its moments, Hoppe et al., SIGGRAPH 1992, section 3.1.
    """
    center, extent = robust_extent(points)
    near = points[np.abs(points - center).max(axis=1) < extent]
    cell = extent / 250.0
    while cell < extent / 8.0:
        grid, order, starts = grid_of(near, cell)
        counts = np.diff(np.append(starts, len(near)))
        if np.median(_over_neighbors(grid, counts[:, None].astype(np.float64))[:, 0]) >= 1.5 * LEAST_PATCH:
            break
        cell *= 1.4
    ordered = near[order] - center
    sums = np.add.reduceat(ordered, starts, axis=0)
    products = np.add.reduceat(ordered[:, [0, 0, 0, 1, 1, 2]] * ordered[:, [0, 1, 2, 1, 2, 2]], starts, axis=0)
    patch = _over_neighbors(grid, np.column_stack([counts, sums, products]))
    values, vectors = np.linalg.eigh(_second_moments(patch))
    flat = values[:, 0] < 0.15 * values[:, 1]
    good = (patch[:, 0] >= LEAST_PATCH) & flat & (values[:, 1] > 0.02 * values[:, 2])
    return SurfaceSamples((sums / counts[:, None] + center)[good], vectors[good, :, 0], cell)


def _over_neighbors(grid: Grid, values: Array) -> Array:
    total = np.zeros_like(values)
    for step in grid.neighbors():
        place = grid.find(grid.keys + step)
        found = place >= 0
        total[found] += values[place[found]]
    return total


def _second_moments(patch: Array) -> Array:
    """Centered second moments (c, 3, 3) of patches given as count, sums and sums of products (c, 10)."""
    mean = patch[:, 1:4] / patch[:, :1]
    raw = patch[:, [4, 5, 6, 5, 7, 8, 6, 8, 9]].reshape(-1, 3, 3) / patch[:, :1, None]
    return np.asarray(raw - mean[:, :, None] * mean[:, None, :])
