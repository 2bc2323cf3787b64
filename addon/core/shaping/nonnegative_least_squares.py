# SPDX-License-Identifier: GPL-3.0-or-later
"""Least squares with unknowns that may not be negative."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index, Mask

_ROUND_OFF = 1e-10


def nonnegative_least_squares(gram: Array, moment: Array, start: Mask | None = None) -> Array:
    """The x >= 0 that minimizes |M x - b|, from gram = M^T M and moment = M^T b.

    gram : (k, k) float, symmetric, positive definite
    moment : (k,) float
    start : (k,) bool, unknowns believed to be positive; a good belief saves steps, a bad one does no harm
    Returns (k,) float.
    Raises ValueError if the shapes differ.

    Active sets: the unknown with the steepest slope enters, and the first that would turn negative leaves, each by an update
    of the inverse of the positive part. Lawson and Hanson, Solving Least Squares Problems, 23.3, in the form of Goldfarb and
    Idnani, A numerically stable dual method for solving strictly convex quadratic programs, 1983. All products are small
    ones of a matrix and a vector: a threaded factorization waits longer for its threads than it works at this size.
    """
    if gram.shape != (len(moment), len(moment)):
        raise ValueError(f"gram: shape {gram.shape}, expected {(len(moment), len(moment))}")
    part = PositivePart(gram, moment)
    if start is not None:
        for believed in np.flatnonzero(start):
            part.believe(int(believed))
    return part.minimize()


class PositivePart:
    """The positive unknowns of one problem: chosen[:size] and their value.

    Owns the inverse of their part of gram, which each entering or leaving unknown only updates.
    """

    def __init__(self, gram: Array, moment: Array, inverse: Array | None = None) -> None:
        """inverse : (p, p) float, of the part of gram of the first p unknowns, if they are believed to be positive."""
        count = len(moment)
        self._gram, self._moment = gram, moment
        self.size = 0 if inverse is None else len(inverse)
        self.chosen: Index = np.arange(count)
        self._value = np.zeros(count)
        self._inverse = np.zeros((count, count))
        if inverse is not None:
            self._inverse[: self.size, : self.size] = inverse

    @property
    def value(self) -> Array:
        """(p,) float, of the unknowns in chosen[:size]."""
        return self._value[: self.size]

    @property
    def inverse(self) -> Array:
        """(p, p) float, of the part of gram of the unknowns in chosen[:size]."""
        return self._inverse[: self.size, : self.size]

    def believe(self, unknown: int) -> None:
        """Count an unknown among the positive ones before minimizing."""
        coupling, curvature = self._coupling(unknown)
        self._grow(unknown, 0.0, coupling, curvature)

    def minimize(self) -> Array:
        """The minimum, (k,) float."""
        self._drop_wrong_beliefs()
        count = len(self._moment)
        tolerance = _ROUND_OFF * max(1.0, float(np.abs(self._moment).max(initial=0.0)))
        # Far more steps than well-posed problems take: a bound against round-off that never settles.
        for _ in range(20 * count):
            slope = self._slope()
            entering = int(slope.argmax())
            if slope[entering] <= tolerance:
                break
            self._enter(entering, float(slope[entering]))
        return self._solution()

    def _drop_wrong_beliefs(self) -> None:
        """Keep only unknowns that are positive while all others are zero."""
        while self.size:
            self._value[: self.size] = self.inverse @ self._moment[self.chosen[: self.size]]
            wrong = np.flatnonzero(self.value <= 0.0)
            if len(wrong) == 0:
                break
            for place in wrong[::-1]:
                self._leave(int(place))

    def _solution(self) -> Array:
        solution = np.zeros(len(self._moment))
        solution[self.chosen[: self.size]] = self.value
        return solution

    def _slope(self) -> Array:
        """Gain of each unknown that is zero now; zero for those that are not."""
        slope: Array = self._moment - self._gram @ self._solution()
        slope[self.chosen[: self.size]] = 0.0
        return slope

    def _enter(self, entering: int, slope: float) -> None:
        """Raise one unknown to its minimum along with the others; those that reach zero on the way leave."""
        raised = 0.0
        while True:
            coupling, curvature = self._coupling(entering)
            place, limit = _first_to_zero(self.value, coupling, slope / curvature)
            self._value[: self.size] -= limit * coupling
            raised += limit
            if place < 0:
                break
            slope -= limit * curvature
            self._leave(place)
        self._grow(entering, raised, coupling, curvature)

    def _coupling(self, entering: int) -> tuple[Array, float]:
        """How far each positive unknown falls as the entering one rises by 1, and the second derivative on that way."""
        own = self._gram[entering][self.chosen[: self.size]]
        coupling = self.inverse @ own
        return coupling, float(self._gram[entering, entering] - own @ coupling)

    def _grow(self, entering: int, value: float, coupling: Array, curvature: float) -> None:
        size = self.size
        scaled = coupling / curvature
        self._inverse[:size, :size] += np.multiply.outer(coupling, scaled)
        self._inverse[:size, size] = self._inverse[size, :size] = -scaled
        self._inverse[size, size] = 1.0 / curvature
        self.chosen[size], self._value[size] = entering, value
        self.size += 1

    def _leave(self, place: int) -> None:
        """The last one takes the place of the one that leaves."""
        inverse, last = self._inverse, self.size - 1
        column = inverse[: self.size, place].copy()
        pivot = column[place]
        column[place] = column[last]
        inverse[place, :last] = inverse[last, :last]
        inverse[:last, place] = inverse[:last, last]
        inverse[place, place] = inverse[last, last]
        inverse[:last, :last] -= np.multiply.outer(column[:last], column[:last] / pivot)
        self.chosen[place], self._value[place] = self.chosen[last], self._value[last]
        self.size = last


def _first_to_zero(value: Array, coupling: Array, step: float) -> tuple[int, float]:
    """Which value - t coupling is zero first for t up to step, and that t; -1 and step if none is."""
    if len(value) == 0:
        return -1, step
    limits = np.full(len(value), np.inf)
    np.divide(value, coupling, out=limits, where=coupling > 0.0)
    place = int(limits.argmin())
    return (place, float(limits[place])) if limits[place] < step else (-1, step)
