# SPDX-License-Identifier: GPL-3.0-or-later
"""Points in runs of consecutive ones, each run in a ball, so that whole runs can be passed over."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, Index, as_points
from ..base.tolerances import TOLERANCES
from .body import Body

RUN = 64
"""Points of a run; a skin's lie side by side, as its faces are subdivided one after the other."""


class PointRuns:
    """Owns the balls about the runs of one set of points. points : (n, 3) float, mm."""

    def __init__(self, points: ArrayLike) -> None:
        self.points: Array = as_points(points)
        self._starts: Index = np.arange(0, len(self.points), RUN)
        missing = np.repeat(self.points[-1:], -len(self.points) % RUN, axis=0)  # the last run is filled with its last point
        runs = np.ascontiguousarray(np.concatenate([self.points, missing]).T).reshape(3, -1, RUN)
        low, high = runs.min(axis=2), runs.max(axis=2)
        self._centers: Array = 0.5 * (low + high).T
        self._radii: Array = 0.5 * np.linalg.norm(high - low, axis=0)

    def most(self, values: Array) -> Array:
        """(r,) float, the largest value (n,) in each run."""
        return np.asarray(np.maximum.reduceat(values, self._starts)) if len(values) else values

    def nearer_than(self, body: Body, distances: Array) -> Index:
        """The points (k,) int of all runs that may hold one nearer to a body than distances (r,), mm.

        Signed distances change by no more than the way from one point to another, so that a run's are not under that of
        its center less its radius.
        """
        least = body.distance(self._centers) - self._radii
        near = np.flatnonzero(least < distances + TOLERANCES.weld)
        inside: Index = (self._starts[near][:, None] + np.arange(RUN)).ravel()
        return inside[inside < len(self.points)]
