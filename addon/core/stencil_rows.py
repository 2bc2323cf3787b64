# SPDX-License-Identifier: GPL-3.0-or-later
"""Sparse rows of weights that take cage points to points of the skin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .arrays import Array, Index


@dataclass(frozen=True, eq=False)
class StencilRows:
    """A sparse matrix from cage points to skin points, by rows.

    starts : (p + 1,) int; row i has the entries starts[i]:starts[i + 1], never none
    index : (w,) int, cage point; each at most once a row
    weight : (w,) float, weight for y and z
    x_weight : (w,) float, weight for x; differs from weight where a mirror image of the cage point takes part
    blocks : (b + 1,) int or None; rows blocks[j]:blocks[j + 1] all have the same cage points in the same order, so that
        they are one dense matrix
    """

    starts: Index
    index: Index
    weight: Array
    x_weight: Array
    blocks: Index | None = None

    @property
    def row_count(self) -> int:
        return len(self.starts) - 1

    def apply(self, points: Array) -> Array:
        """Rows times cage points. points : (n, 3) float; returns (p, 3) float, same unit."""
        taken = points[self.index]
        taken[:, 0] *= self.x_weight
        taken[:, 1:] *= self.weight[:, None]
        return np.add.reduceat(taken, self.starts[:-1], axis=0)
