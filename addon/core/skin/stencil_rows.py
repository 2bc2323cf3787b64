# SPDX-License-Identifier: GPL-3.0-or-later
"""Sparse rows of weights that take cage points to points of the skin."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..base.arrays import Array, Index


@dataclass(frozen=True, eq=False)
class StencilRows:
    """A sparse matrix from cage points to skin points, by rows.

    starts : (p + 1,) int; row i has the entries starts[i]:starts[i + 1], never none
    index : (w,) int, cage point; each at most once a row
    weight : (w,) float, weight for y and z; may be 0
    x_weight : (w,) float, weight for x; differs from weight where a mirror image of the cage point takes part
    blocks : (b + 1,) int or None; the rows blocks[j]:blocks[j + 1] all have the same cage points in the same order, so that
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
        if self.blocks is None:
            taken = points[self.index]
            taken[:, 0] *= self.x_weight
            taken[:, 1:] *= self.weight[:, None]
            return np.add.reduceat(taken, self.starts[:-1], axis=0)
        result = np.zeros((self.row_count, 3))
        for block in self._dense:
            taken = points[block.index]
            if block.x_weight is block.weight:
                np.matmul(block.weight, taken, out=result[block.first : block.last])
            else:
                result[block.first : block.last, 0] = block.x_weight @ taken[:, 0]
                result[block.first : block.last, 1:] = block.weight @ taken[:, 1:]
        return result

    @cached_property
    def _dense(self) -> tuple[_DenseBlock, ...]:
        assert self.blocks is not None
        first, last = self.blocks[:-1], self.blocks[1:]
        low, high = self.starts[first], self.starts[last]
        return tuple(
            [
                self._block(*place)
                for place in zip(first.tolist(), last.tolist(), low.tolist(), high.tolist(), strict=True)
                if place[0] < place[1]
            ]
        )

    def _block(self, first: int, last: int, low: int, high: int) -> _DenseBlock:
        width = (high - low) // (last - first)
        weight = self.weight[low:high].reshape(-1, width)
        x_weight = self.x_weight[low:high].reshape(-1, width)
        if np.array_equal(weight, x_weight):
            x_weight = weight
        return _DenseBlock(first, last, self.index[low : low + width], weight, x_weight)


@dataclass(frozen=True, eq=False)
class _DenseBlock:
    first: int
    last: int
    index: Index
    weight: Array
    x_weight: Array
