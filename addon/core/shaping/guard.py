# SPDX-License-Identifier: GPL-3.0-or-later
"""The guard: what moves the cage back, by as little as possible, when the skin would come too near to a body."""

from __future__ import annotations

from dataclasses import dataclass
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, Mask, as_points
from ..base.row_vectors import farthest
from ..base.tolerances import TOLERANCES
from ..skin.stencil_rows import StencilRows
from .guard_cache import GuardCache
from .moved_skin import MovedSkin, SkinState
from .point_freedom import PointFreedom, SeatRows, point_freedom
from .tangent_round import RoundResult, tangent_round

if TYPE_CHECKING:
    from ..clearance.clearance_field import ClearanceField

SETTLED_MM = 0.05
"""Rounds end when none moves a cage point further than this."""
_HALVINGS = 20


@dataclass(frozen=True, eq=False)
class GuardResult:
    """Where the cage may be.

    points : (n, 3) float, mm; points that were not moved are those of the clear cage, bit for bit
    clear : no skin sample that the moved points reach is under its required clearance by more than TOLERANCES.clear
    worst_mm : least distance minus required clearance over these samples, infinite without any
    rounds : rounds that were computed; settled : more would not move the cage
    active : number of planes that hold the cage back; 0 if points is the target
    """

    points: Array
    clear: bool
    worst_mm: float
    rounds: int
    settled: bool
    active: int


def guard(
    clear: ArrayLike,
    target: ArrayLike,
    stencil: StencilRows,
    field: ClearanceField,
    *,
    moved: Mask | None = None,
    fixed_x: Mask | None = None,
    seat: SeatRows | None = None,
    rounds: int = 3,
    time_budget_s: float | None = None,
    longest_step_mm: float | None = None,
    cache: GuardCache | None = None,
) -> GuardResult:
    """The cage nearest to the target (sum of squares) that keeps the skin clear, reached from the last clear cage.

    clear : (n, 3) float, mm, a cage whose skin is clear; target : (n, 3) float, mm, what the builder asks for
    stencil : rows from the cage to the skin samples; field : limits, each a body and its required clearance
    moved : (n,) bool, points that may change; None means those that differ. Elsewhere the target is not looked at
    fixed_x : (n,) bool, points on the mirror plane, which keep their x
    seat : points that stay on their plane along its normal
    rounds : most rounds; while dragging one a mouse step is enough, from rest two or three
    time_budget_s : no round is begun after this; what has been reached by then is clear and is returned
    longest_step_mm : no skin point ends further than this from where it is on the clear cage, so that nothing pops; what is
        left is made up in later calls
    cache : kept by the caller between calls on one cage
    Each limit's distance to a convex body is a convex function, so that the plane which supports it at the clear skin is
    never above it: a cage on the safe side of all planes is clear (Boyd and Vandenberghe, Convex Optimization, 3.1.3). Its
    skin carries the planes of the next round, and the sum of squares only falls. With a body that is not convex, the
    step is halved until it is clear. A cage that is not clear to begin with is returned as it is, with clear False.
    Raises ValueError if the shapes differ or a value is not finite.
    """
    # Copies: the cache keeps them, and the caller may write into its arrays.
    start, wish = as_points(clear, "clear").copy(), as_points(target, "target").copy()
    if start.shape != wish.shape:
        raise ValueError(f"target: shape {wish.shape}, expected {start.shape}")
    count = len(start)
    moved = (start != wish).any(axis=1) if moved is None else _mask(moved, count, "moved")
    fixed_x = np.zeros(count, bool) if fixed_x is None else _mask(fixed_x, count, "fixed_x")
    if not moved.any():
        return GuardResult(start.copy(), True, np.inf, 0, True, 0)
    if seat is not None:
        seat = SeatRows(_mask(seat.points, count, "seat")[moved], seat.normal)
    freedom = point_freedom(fixed_x[moved], seat)
    cache = cache or GuardCache()
    skin = cache.moved_skin(stencil, moved, field)
    if skin.row_count == 0:  # points that hang on no face may go anywhere they are free to
        points = start.copy()
        points[moved] += freedom.restrict((wish - start)[moved][None])[0]
        return GuardResult(points, True, np.inf, 0, True, 0)
    state = cache.state(skin, start)
    if state.worst < -TOLERANCES.clear:
        return GuardResult(start.copy(), False, state.worst, 0, True, 0)
    deadline = np.inf if time_budget_s is None else perf_counter() + time_budget_s
    leash = np.inf if longest_step_mm is None else longest_step_mm
    return _rounds(skin, state, wish, freedom, rounds, deadline, leash, cache)


def _rounds(
    skin: MovedSkin,
    start: SkinState,
    target: Array,
    freedom: PointFreedom,
    rounds: int,
    deadline: float,
    leash: float,
    cache: GuardCache,
) -> GuardResult:
    """Rounds from a clear start until they settle, time is up or the leash is taut."""
    state, done, settled, lifting, active = start, 0, False, True, cache.active
    while done < rounds and not settled and perf_counter() < deadline:
        result = tangent_round(skin, state, target, freedom, active, deadline, lifting)
        before, active = state, result.active
        points, reached = _on_leash(skin, start, before, result, leash)
        state = _clear_between(skin, before, points, reached)
        done += 1
        if points is not result.points:
            break
        at_rest = bool(np.abs(state.points - before.points).max() <= SETTLED_MM)
        settled = len(active) == 0 or (at_rest and not lifting)
        # What rest there is with lifting is a little off: the last rounds go without.
        lifting = lifting and not at_rest
    cache.keep(state, active)
    return GuardResult(state.points.copy(), True, state.worst, done, settled, len(active))


def _on_leash(skin: MovedSkin, start: SkinState, before: SkinState, result: RoundResult, leash: float) -> tuple[Array, Array]:
    """The result and its skin, drawn back toward before as far as a skin point is too far from where it started."""
    if leash == np.inf or farthest(result.skin, start.skin) <= leash:
        return result.points, result.skin
    left = leash - farthest(before.skin, start.skin)
    part = max(left, 0.0) / farthest(result.skin, before.skin)
    points = before.points.copy()
    moved = skin.moved_points
    points[moved] += part * (result.points[moved] - before.points[moved])
    return points, skin.blocks.apply(points)


def _clear_between(skin: MovedSkin, before: SkinState, points: Array, reached: Array) -> SkinState:
    """The state of points, or of the cage halfway back to before, halved until it is clear."""
    state = skin.state(points, reached)
    for _ in range(_HALVINGS):
        if state.worst >= -TOLERANCES.clear:
            return state
        state = skin.state((state.points + before.points) / 2.0)
    return before


def _mask(values: Mask, count: int, name: str) -> Mask:
    mask: Mask = np.asarray(values, dtype=bool)
    if mask.shape != (count,):
        raise ValueError(f"{name}: shape {mask.shape}, expected ({count},)")
    return mask
