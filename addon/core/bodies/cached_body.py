# SPDX-License-Identifier: GPL-3.0-or-later
"""A slow body made quick for points that move little from one question to the next."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Mask, as_points
from .body import Body, FarAside

NEAR_MM = 60.0
"""Where nothing else is said, answers are exact within this distance; it is more than a usual clearance and the map's colors."""

_SETS, _PLACES = 6, 3
"""Counts of points, and places of the points of one count, that answers are kept for."""
_SAME_PLACE_MM = 0.5
"""Points of a set that have moved less take its answers over; those that have moved more get their own, beside the former."""
_SAMPLES = 24
_RUN = 16
"""Points of a new set are taken in runs of so many, which mostly lie side by side: one of each is asked, the others are bounded."""


@dataclass(eq=False)
class _Answer:
    points: Array
    distance: Array
    gradient: Array
    exact: Mask


class CachedBody:
    """Owns the last answers for a few sets of points, each known by its count, at a few places of each.

    A distance changes by no more than its point moves (slope at most 1). So a point that has not moved, or cannot have come
    within near_mm, is not asked about again: what is told of the latter is a lower bound, with the gradient from before.
    """

    def __init__(self, body: Body, near_mm: float = NEAR_MM) -> None:
        self._body, self._near = body, near_mm
        self._answers: OrderedDict[int, list[_Answer]] = OrderedDict()
        self._nearer: dict[float, CachedBody] = {}

    @property
    def convex(self) -> bool:
        return self._body.convex

    def within(self, near_mm: float) -> CachedBody:
        """A cache of the same body that is exact within a smaller distance only, and so asks about fewer points."""
        if near_mm >= self._near:
            return self
        return self._nearer.setdefault(near_mm, CachedBody(self._body, near_mm))

    def distance(self, points: Array) -> Array:
        """(n,) float, mm: exact within near_mm, beyond it not more than the distance. points : (n, 3) float."""
        return self.distance_and_gradient(points)[0]

    def distance_and_gradient(self, points: Array) -> tuple[Array, Array]:
        """As Body, with the bound of distance()."""
        points = as_points(points)
        known = self._answers.setdefault(len(points), [])
        answer = self._answer_near(known, points) if known else self._new_answer(points)
        self._bring_up_to_date(answer, points)
        known[:] = [answer, *(other for other in known if other is not answer)][:_PLACES]
        self._answers.move_to_end(len(points))
        while len(self._answers) > _SETS:
            self._answers.popitem(last=False)
        return answer.distance.copy(), answer.gradient.copy()

    def succeeded_by(self, body: Body, moved_mm: float) -> CachedBody:
        """A cache for what this body has become: no point of its surface moved further than moved_mm.

        What is known of this one stays as a bound: no distance has changed by more. Infinite moved_mm takes nothing over.
        """
        new = CachedBody(body, self._near)
        if np.isfinite(moved_mm):
            for count, known in self._answers.items():
                new._answers[count] = [_after_move(answer, moved_mm) for answer in known]
            new._nearer = {near: cache.succeeded_by(body, moved_mm) for near, cache in self._nearer.items()}
        return new

    def _answer_near(self, known: list[_Answer], points: Array) -> _Answer:
        """The answer whose points are nearest, as a few of them tell; a copy of it if they are not where they were."""
        few = slice(None, None, max(len(points) // _SAMPLES, 1))
        away = [float(np.abs(answer.points[few] - points[few]).max(initial=0.0)) for answer in known]
        nearest = known[int(np.argmin(away))]
        return nearest if min(away) <= _SAME_PLACE_MM else _after_move(nearest, 0.0)

    def _new_answer(self, points: Array) -> _Answer:
        """Bounds for all points, from the first of each run."""
        first = np.arange(0, len(points), _RUN)
        distance, gradient = self._body.distance_and_gradient(points[first])
        run = np.arange(len(points)) // _RUN
        bound = distance[run] - np.linalg.norm(points - points[first][run], axis=1)
        exact = np.zeros(len(points), bool)
        exact[first] = True
        return _Answer(points.copy(), bound, gradient[run], exact)

    def _bring_up_to_date(self, answer: _Answer, points: Array) -> None:
        moved = np.linalg.norm(points - answer.points, axis=1)
        answer.distance -= moved
        answer.points[:] = points
        answer.exact &= moved == 0.0
        ask = np.flatnonzero(~answer.exact & (answer.distance < self._near))
        if len(ask):
            answer.distance[ask], answer.gradient[ask] = self._ask(points[ask])
            answer.exact[ask] = answer.distance[ask] < self._near

    def _ask(self, points: Array) -> tuple[Array, Array]:
        """A body that can leave out what is far is asked so."""
        if isinstance(self._body, FarAside):
            return self._body.distance_within(points, self._near)
        return self._body.distance_and_gradient(points)


def _after_move(known: _Answer, moved_mm: float) -> _Answer:
    """A copy as a bound for a body whose surface has moved by no more than moved_mm."""
    still = known.exact & (moved_mm == 0.0)
    return _Answer(known.points.copy(), known.distance - moved_mm, known.gradient.copy(), still)
