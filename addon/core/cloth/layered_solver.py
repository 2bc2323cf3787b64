# SPDX-License-Identifier: GPL-3.0-or-later
"""Linear equations over the points of a strip of triangles, solved layer by layer."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Index

Values = NDArray[Any]
"""float or complex."""


def layers_from(triangles: Index, count: int, first: int) -> Index:
    """(n,) int: the fewest edges from a point to each of n points. Raises ValueError if not all of them are connected."""
    layer = np.full(count, -1)
    layer[first] = 0
    reached = 0
    while (layer < 0).any():
        at = layer[triangles]
        next_to = triangles[(at == reached).any(axis=1)]
        fresh = next_to[layer[next_to] < 0]
        if not len(fresh):
            raise ValueError("layers: the points are not connected")
        reached += 1
        layer[fresh] = reached
    return layer


class LayeredSolver:
    """Owns the factors of a Hermitian positive definite matrix whose entries join points of the same or of neighboring layers.

    Block tridiagonal elimination: Golub and Van Loan, Matrix Computations, 4.5.1. Its cost grows with the length of a strip and the
    third power of its width.
    """

    def __init__(self, layer: Index, rows: Index, columns: Index, values: Values) -> None:
        """layer : (n,) int, see layers_from; rows, columns, values : (k,) entries of the matrix, those of one place are added up."""
        self._points = [np.flatnonzero(layer == k) for k in range(int(layer.max()) + 1)]
        place = np.empty(len(layer), dtype=np.int64)
        for points in self._points:
            place[points] = np.arange(len(points))
        at, step = layer[rows], layer[columns] - layer[rows]
        self._inverse: list[Values] = []
        self._onward: list[Values] = []
        under: Values | None = None
        for k, points in enumerate(self._points):
            block = _block(place, rows, columns, values, (at == k) & (step == 0), (len(points), len(points)))
            if under is not None:
                block = block - under
            inverse = np.linalg.inv(block)
            self._inverse.append(inverse)
            if k + 1 < len(self._points):
                beyond = _block(place, rows, columns, values, (at == k) & (step == 1), (len(points), len(self._points[k + 1])))
                onward = inverse @ beyond
                self._onward.append(onward)
                under = beyond.conj().T @ onward

    def solve(self, right: Values) -> Values:
        """The unknowns (n, m) for right sides (n, m)."""
        parts = [right[points] for points in self._points]
        for k, onward in enumerate(self._onward):
            parts[k + 1] = parts[k + 1] - onward.conj().T @ parts[k]
        found = np.empty_like(right)
        later: Values | None = None
        for k in range(len(self._points) - 1, -1, -1):
            own = self._inverse[k] @ parts[k]
            if later is not None:
                own = own - self._onward[k] @ later
            found[self._points[k]] = own
            later = own
        return found


def _block(place: Index, rows: Index, columns: Index, values: Values, chosen: Values, shape: tuple[int, int]) -> Values:
    block = np.zeros(shape, dtype=values.dtype)
    np.add.at(block, (place[rows[chosen]], place[columns[chosen]]), values[chosen])
    return block
