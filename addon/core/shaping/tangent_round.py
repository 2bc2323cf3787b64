# SPDX-License-Identifier: GPL-3.0-or-later
"""One round of the guard: the cage nearest to the target on the safe side of the planes at the last clear skin."""

from __future__ import annotations

from dataclasses import dataclass
from time import perf_counter

import numpy as np

from ..base.arrays import Array, Index
from ..base.row_vectors import dot_rows
from ..base.tolerances import TOLERANCES
from ..skin.stencil_blocks import StencilBlocks
from .moved_skin import MovedSkin, SkinState
from .plane_cuts import PlaneCuts
from .point_freedom import PointFreedom

APART_MM = 10.0
"""New planes of one cut are at least this far apart."""
_SLACK = TOLERANCES.clear / 2.0
"""A plane is broken when it is passed by more than this."""
_SPARE_MM = 0.01
"""A broken plane is kept with this much to spare in cage space, so that its neighbors are kept too."""
_LIFT_BELOW_MM = 1.0
_LIFT = 3.0
"""When planes are broken by less than that, those around are lifted by so many times as much, to end cutting ever finer."""
_LIFT_REACH_MM = 40.0
_CUTS_BEFORE_LIFT = 1
_FEW_STRETCHES = 300
_MOST_CUTS = 16
_NO_ANSWER_MM = 1.0
"""If the sum of the planes with room to spare puts the cage this much further from the target than C, they have no answer."""


@dataclass(frozen=True, eq=False)
class RoundResult:
    """points : (n, 3) float, the cage; skin : (r, 3) float, its skin; active : (k,) int, planes that hold it; cuts : made."""

    points: Array
    skin: Array
    active: Index
    cuts: int


def tangent_round(
    skin: MovedSkin,
    state: SkinState,
    target: Array,
    freedom: PointFreedom,
    believed: Index,
    deadline: float,
    lifting: bool = True,
) -> RoundResult:
    """Minimize the sum of |X_j - T_j|^2 over the moved points under d_i(C) + n_i . S_i (X - C) >= required_i.

    state : the last clear skin, of the cage C; target : (n, 3), T
    freedom : of the moved points; believed : (k,) int, planes that probably hold the result, from the round before
    deadline : perf_counter time after which no further cut is made
    lifting : spend some tenths of a mm on fewer cuts
    Returns a cage on the safe side of all planes, no further from T than C.
    Planes are added where they are broken most (cutting planes, Kelley 1960) and dropped when inactive.
    """
    problem = _Problem(skin, state, target, freedom, lifting)
    stay = RoundResult(state.points, state.skin, believed, 0)
    for spare in (_SPARE_MM, None):
        result = problem.shortened(*problem.cut(believed, deadline, spare))
        gain = problem.cost(state.points) - problem.cost(result.points)
        if gain > 0.0:
            return result
        if gain > -_NO_ANSWER_MM:
            break
    return stay


def push_out(skin: MovedSkin, state: SkinState, target: Array, freedom: PointFreedom) -> RoundResult:
    """As tangent_round from a cage that is not clear: the planes may have no answer, and then it breaks some."""
    nothing: Index = np.zeros(0, np.int64)
    return _Problem(skin, state, target, freedom, True).cut(nothing, np.inf, _SPARE_MM)[0]


class _Level:
    """Some rows of the skin: the blocks that make them, their state, and their numbers among all rows."""

    def __init__(self, blocks: StencilBlocks, state: SkinState, rows: Index) -> None:
        self.blocks, self.state, self.rows = blocks, state, rows
        self.stretch = len(rows) // max(blocks.block_count, 1)
        """Rows of which only the most broken is taken; halved until there are enough stretches to choose from."""
        while self.stretch > 1 and len(rows) // self.stretch < _FEW_STRETCHES:
            self.stretch //= 2


class _Problem:
    """A round's data, and what is the same for all of its cuts."""

    def __init__(self, skin: MovedSkin, state: SkinState, target: Array, freedom: PointFreedom, lifting: bool) -> None:
        self._lift_below = _LIFT_BELOW_MM if lifting else 0.0
        self._skin, self._state, self._freedom, self._target = skin, state, freedom, target
        step = target[skin.moved_points] - state.points[skin.moved_points]
        self._wish = state.points.copy()
        # Taking away what is forbidden leaves the target to the last bit where nothing is.
        self._wish[skin.moved_points] = target[skin.moved_points] - (step - freedom.restrict(step))
        self._step = self._wish[skin.moved_points] - state.points[skin.moved_points]
        fine = _Level(skin.blocks, state, np.arange(skin.row_count))
        coarse = [_Level(skin.coarse_blocks, skin.coarse(state), skin.coarse_rows)] if len(skin.coarse_rows) else []
        self._levels = (*coarse, fine)

    def cost(self, points: Array) -> float:
        """Distance of a cage from the target over all moved points, mm."""
        away = points[self._skin.moved_points] - self._target[self._skin.moved_points]
        return float(np.sqrt(np.einsum("ij,ij->", away, away)))

    def cut(self, believed: Index, deadline: float, spare: float | None) -> tuple[RoundResult, Array]:
        """Cut until no plane is broken; returns the values (l, r) of all planes too.

        spare : None asks for no more room than C has, so that C itself is an answer
        """
        cuts = PlaneCuts(len(self._skin.moved_points))
        points, count, at_level = self._wish, 0, 0
        if len(believed):
            self._add(cuts, believed, spare)
            points, count = self._stepped(cuts, believe_all=True), 1
        while True:
            level = self._levels[at_level]
            skin = level.blocks.apply(points)
            values = level.state.plane_values(skin)
            new = self._most_broken(level, values, cuts.planes)
            if len(new) and count < _MOST_CUTS and perf_counter() < deadline:
                if spare is not None and count >= _CUTS_BEFORE_LIFT and values.min() > -self._lift_below:
                    cuts.lift(self._lifts(cuts.planes, new, points))
                self._add(cuts, new, spare)
                points, count = self._stepped(cuts, believe_all=False), count + 1
            elif level is not self._levels[-1]:
                at_level += 1
            else:
                return RoundResult(points, skin, cuts.planes, count), values

    def _stepped(self, cuts: PlaneCuts, believe_all: bool) -> Array:
        points = self._wish.copy()
        points[self._skin.moved_points] += cuts.nearest_step(believe_all)
        return points

    def _add(self, cuts: PlaneCuts, planes: Index, spare: float | None) -> None:
        coefficients = self._freedom.restrict(self._skin.coefficients(self._state, planes))
        excess = self._state.excess.ravel()[planes]
        wished = excess + np.einsum("kmc,mc->k", coefficients, self._step)
        aim = np.minimum(excess, 0.0) if spare is None else np.zeros(len(planes))
        cuts.add(planes, coefficients, aim - wished, spare or 0.0)

    def _lifts(self, known: Index, broken: Index, points: Array) -> Array:
        """How much more each known plane should keep: some times the worst among the broken ones around it. (k,) float."""
        step = points[self._skin.moved_points] - self._state.points[self._skin.moved_points]
        coefficients = self._skin.coefficients(self._state, broken)
        depth = -(self._state.excess.ravel()[broken] + np.einsum("kmc,mc->k", coefficients, step))
        near = self._square_distances(known, broken) < _LIFT_REACH_MM**2
        return np.asarray(_LIFT * (near * np.maximum(depth, 0.0)).max(axis=1, initial=0.0))

    def _square_distances(self, one: Index, other: Index) -> Array:
        """Between the skin points of planes (k,) and (h,), on the clear skin: (k, h) float."""
        left, right = self._state.skin[one % self._skin.row_count], self._state.skin[other % self._skin.row_count]
        squares = dot_rows(left, left)[:, None] + dot_rows(right, right)
        return np.asarray(squares - 2.0 * (left @ right.T))

    def _most_broken(self, level: _Level, values: Array, known: Index) -> Index:
        """The most broken plane of each stretch of rows and limit, thinned to those apart; none of those known. (k,) int."""
        worst = values.reshape(-1, level.stretch).argmin(axis=1) + np.arange(0, values.size, level.stretch)
        flat = values.ravel()
        worst = worst[flat[worst] < -_SLACK]
        worst = worst[np.argsort(flat[worst], kind="stable")]
        limit, row = np.divmod(worst, values.shape[1])
        planes = limit * self._skin.row_count + level.rows[row]
        return np.setdiff1d(planes[self._apart(planes)], known, assume_unique=True)

    def _apart(self, planes: Index) -> Index:
        """Places of those planes that have none before them in the list within APART_MM and of the same limit."""
        near = self._square_distances(planes, planes) < APART_MM**2
        limit = planes // self._skin.row_count
        near &= limit[:, None] == limit
        taken: list[int] = []
        free = np.ones(len(planes), bool)
        for at in range(len(planes)):
            if free[at]:
                taken.append(at)
                free &= ~near[at]
        return np.array(taken, dtype=np.int64)

    def shortened(self, result: RoundResult, values: Array) -> RoundResult:
        """The result, drawn back toward C as far as a plane is still broken; C breaks none."""
        broken = values < -TOLERANCES.clear
        if not broken.any():
            return result
        start = np.maximum(self._state.excess[broken], -TOLERANCES.clear)
        part = float(((start + TOLERANCES.clear) / (start - values[broken])).min())
        points = self._state.points.copy()
        moved = self._skin.moved_points
        points[moved] += part * (result.points[moved] - self._state.points[moved])
        return RoundResult(points, self._skin.blocks.apply(points), result.active, result.cuts)
