# SPDX-License-Identifier: GPL-3.0-or-later
"""Linear equations of a strip: symmetric, positive definite, block by block along it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..base.arrays import Array

_LEAST_PIVOT = 1e-11
"""Share of its stiffness that must be left of a freedom when those before it are let go; under it nothing holds it."""


class NotHeldError(ValueError):
    """The equations have no answer: part of the structure can move freely. row : block where that shows"""

    def __init__(self, row: int) -> None:
        super().__init__(f"nothing holds the points of row {row}")
        self.row = row


class BlockSolver:
    """Cholesky factor of a block tridiagonal matrix. G. H. Golub, C. F. Van Loan, Matrix Computations, 4.5.

    diagonal : (k, k) symmetric blocks; upper : the block right of each but the last
    Raises NotHeldError if the matrix is not positive definite.
    """

    def __init__(self, diagonal: Sequence[Array], upper: Sequence[Array]) -> None:
        self._inverse: list[Array] = []
        self._beside: list[Array] = []
        self._starts = np.cumsum([0, *(len(block) for block in diagonal)])
        left: Array | None = None
        for row, block in enumerate(diagonal):
            rest = block if left is None else block - left.T @ left
            self._inverse.append(_inverse_factor(rest, np.diagonal(block), row))
            if row < len(upper):
                left = self._inverse[-1] @ upper[row]
                self._beside.append(left)

    def solve(self, loads: Array) -> Array:
        """(n, k) answers. loads : (n, k) float, in the order of the blocks"""
        parts = [loads[start:end] for start, end in zip(self._starts[:-1], self._starts[1:], strict=True)]
        down: list[Array] = []
        for row, (inverse, part) in enumerate(zip(self._inverse, parts, strict=True)):
            down.append(inverse @ (part - self._beside[row - 1].T @ down[-1] if row else part))
        answers = [self._inverse[-1].T @ down[-1]]
        for row in range(len(down) - 2, -1, -1):
            answers.append(self._inverse[row].T @ (down[row] - self._beside[row] @ answers[-1]))
        return np.concatenate(answers[::-1])


def _inverse_factor(block: Array, before: Array, row: int) -> Array:
    """Inverse of the lower Cholesky factor of what is left of a block; before : its diagonal before elimination."""
    try:
        factor = np.linalg.cholesky(block)
    except np.linalg.LinAlgError as error:
        raise NotHeldError(row) from error
    if (np.diagonal(factor) ** 2 < _LEAST_PIVOT * before).any():
        raise NotHeldError(row)
    return np.asarray(np.linalg.inv(factor))
