# SPDX-License-Identifier: GPL-3.0-or-later
"""A slow body made quick for points that move little from one question to the next."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, as_points
from .body import Body

NEAR_MM = 60.0
"""Within this distance answers are exact; it is more than any required clearance and the colors of the map together."""

_SETS = 6


@dataclass(eq=False)
class _Answer:
    points: Array
    distance: Array
    gradient: Array


class CachedBody:
    """Owns the last answers for a few sets of points, each known by its count.

    A distance changes by no more than its point moves (slope at most 1). So a point that has not moved, or cannot have come
    within NEAR_MM, is not asked about again: what is told of the latter is a lower bound, with the gradient from before.
    """

    def __init__(self, body: Body) -> None:
        self._body = body
        self._answers: OrderedDict[int, _Answer] = OrderedDict()

    @property
    def convex(self) -> bool:
        return self._body.convex

    def distance(self, points: Array) -> Array:
        """(n,) float, mm: exact within NEAR_MM, beyond it not more than the distance. points : (n, 3) float."""
        return self.distance_and_gradient(points)[0]

    def distance_and_gradient(self, points: Array) -> tuple[Array, Array]:
        """As Body, with the bound of distance()."""
        points = as_points(points)
        answer = self._answers.get(len(points))
        if answer is None:
            answer = _Answer(points.copy(), *self._body.distance_and_gradient(points))
            self._answers[len(points)] = answer
        else:
            self._bring_up_to_date(answer, points)
        self._answers.move_to_end(len(points))
        while len(self._answers) > _SETS:
            self._answers.popitem(last=False)
        return answer.distance.copy(), answer.gradient.copy()

    def _bring_up_to_date(self, answer: _Answer, points: Array) -> None:
        moved = np.linalg.norm(points - answer.points, axis=1)
        answer.distance -= moved
        answer.points[:] = points
        ask = np.flatnonzero((moved > 0.0) & (answer.distance < NEAR_MM))
        if len(ask):
            answer.distance[ask], answer.gradient[ask] = self._body.distance_and_gradient(points[ask])
