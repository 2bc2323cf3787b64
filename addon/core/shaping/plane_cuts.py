# SPDX-License-Identifier: GPL-3.0-or-later
"""The planes that hold a cage back, and the nearest cage on their safe side."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from ..base.row_vectors import dot_rows
from .nonnegative_least_squares import PositivePart

_RIDGE = 1e-7
"""Added to the diagonal of the Gram matrix of unit rows, for planes that are nearly one plane."""
_LEAST_NORM = 1e-9
_STRIP = 32


class PlaneCuts:
    """A growing set of half-spaces row . step >= need for the step of m moved points away from their wish.

    Owns the Gram matrix of the rows, which only grows by what is new. Nearest step: Lawson and Hanson, Solving Least
    Squares Problems, 23.4 (least distance programming), through its dual.
    """

    def __init__(self, moved_count: int) -> None:
        self.planes: Index = np.zeros(0, np.int64)
        self._moved_count = moved_count
        self._rows: Array = np.zeros((0, 3 * moved_count))
        self._need: Array = np.zeros(0)
        self._gram: Array = np.zeros((0, 0))
        self._inverse: Array = np.zeros((0, 0))
        """Of the part of the Gram matrix of those planes, at the front, that hold the last step."""

    def add(self, planes: Index, coefficients: Array, need: Array, spare: float) -> None:
        """Half-spaces for planes (k,) with coefficients (k, m, 3) and need (k,) mm of skin, plus spare mm of cage."""
        rows = coefficients.reshape(len(planes), -1)
        norm = np.maximum(np.sqrt(dot_rows(rows, rows)), _LEAST_NORM)
        rows = rows / norm[:, None]
        old, count = len(self._need), len(self._need) + len(planes)
        gram = np.zeros((count, count))
        gram[:old, :old] = self._gram
        gram[old:, :old] = _products(rows, self._rows)
        gram[:old, old:] = gram[old:, :old].T
        gram[old:, old:] = _products(rows, rows)
        gram[np.arange(old, count), np.arange(old, count)] += _RIDGE
        self._gram = gram
        self._rows = np.concatenate([self._rows, rows])
        self._need = np.concatenate([self._need, need / norm + spare])
        self.planes = np.concatenate([self.planes, planes])

    def lift(self, spare: Array) -> None:
        """Ask each plane for spare (k,) mm of cage more."""
        self._need = self._need + spare

    def nearest_step(self, believe_all: bool = False) -> Array:
        """The shortest step (m, 3) that meets all half-spaces; those that do not hold it are dropped.

        believe_all : all planes are believed to hold it, which saves work where it is nearly so
        """
        part = PositivePart(self._gram, self._need, self._inverse)
        if believe_all:
            for plane in range(part.size, len(self._need)):
                part.believe(plane)
        part.minimize()
        holding = part.chosen[: part.size]
        self._gram, self._inverse = self._gram[np.ix_(holding, holding)], part.inverse
        self._rows, self._need, self.planes = self._rows[holding], self._need[holding], self.planes[holding]
        step: Array = (part.value @ self._rows).reshape(self._moved_count, 3)
        return step


def _products(left: Array, right: Array) -> Array:
    """left right^T, summed over narrow strips: products too small to be handed to threads, which cost more than they bring."""
    width = left.shape[1]
    strips = -(-width // _STRIP)
    result = np.zeros((len(left), len(right)))
    for strip in np.array_split(np.arange(width), strips):
        columns = slice(strip[0], strip[-1] + 1)
        result += left[:, columns] @ right[:, columns].T
    return result
