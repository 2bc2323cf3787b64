# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes a cage clear that is not, with no clear cage to come from: a changed envelope, a new topology, an edited file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, Mask, as_points
from ..base.tolerances import TOLERANCES
from ..skin.stencil_rows import StencilRows
from .guard import GuardResult, guard
from .guard_cache import GuardCache
from .moved_skin import MovedSkin, SkinState
from .point_freedom import PointFreedom, SeatRows, point_freedom
from .tangent_round import push_out

if TYPE_CHECKING:
    from ..clearance.clearance_field import ClearanceField

_PUSHES = 6
_FURTHEST_PUSH_MM = 1000.0
_FIRST_SHIFT_MM = 1.0
_SHIFTS = 11
"""Shifts double from the first one: 1 to 1024 mm beyond the depth."""


def make_clear(
    points: ArrayLike,
    stencil: StencilRows,
    field: ClearanceField,
    *,
    movable: Mask | None = None,
    fixed_x: Mask | None = None,
    seat: SeatRows | None = None,
    rounds: int = 6,
    home: ArrayLike | None = None,
    furthest_mm: float | None = None,
    cache: GuardCache | None = None,
) -> GuardResult:
    """The cage nearest to points (sum of squares) whose skin is clear, as far as it can be found.

    points : (n, 3) float, mm; a cage that is clear already comes back as it is
    home : (n, 3) float, what is to be come near to from a clear cage, where that is not points
    furthest_mm : no cage point is pushed further along an axis than this to find a clear cage; None for no bound of the caller's
    movable : (n,) bool, points that may change; None means all
    fixed_x, seat, cache : as for guard; rounds : most rounds of the guard once a clear cage is found
    First the skin is put on the safe side of the planes that support the bodies where it is now; where these have no
    answer, the cage is shifted out of the bodies. From that clear cage the guard goes back toward points.
    clear is False in the result, and points unchanged, if neither finds a clear cage: some of it is held where it cannot be.
    Raises ValueError as guard does.
    """
    wish = as_points(points).copy()
    count = len(wish)
    movable = np.ones(count, bool) if movable is None else np.asarray(movable, bool)
    fixed_x = np.zeros(count, bool) if fixed_x is None else np.asarray(fixed_x, bool)
    for name, mask in (("movable", movable), ("fixed_x", fixed_x)):
        if mask.shape != (count,):
            raise ValueError(f"{name}: shape {mask.shape}, expected ({count},)")
    cache = cache or GuardCache()
    skin = cache.moved_skin(stencil, movable, field)
    state = skin.state(wish)
    if state.worst >= -TOLERANCES.clear:
        return GuardResult(wish.copy(), True, state.worst, 0, True, 0)
    held = None if seat is None else SeatRows(seat.points[movable], seat.normal)
    freedom = point_freedom(fixed_x[movable], held)
    found = _pushed_out(skin, state, freedom, _FURTHEST_PUSH_MM if furthest_mm is None else furthest_mm)
    if found is None:
        found = _shifted_out(skin, state, freedom, np.inf if furthest_mm is None else furthest_mm)
    if found is None:
        return GuardResult(wish.copy(), False, state.worst, 0, True, 0)
    wish = wish if home is None else as_points(home)
    return guard(found, wish, stencil, field, moved=movable, fixed_x=fixed_x, seat=seat, rounds=rounds, cache=cache)


def _pushed_out(skin: MovedSkin, start: SkinState, freedom: PointFreedom, furthest_mm: float) -> Array | None:
    """A clear cage on the safe side of supporting planes, taken first at start and then where the last ones led."""
    state = start
    for _ in range(_PUSHES):
        result = push_out(skin, state, start.points, freedom)
        if np.abs(result.points - start.points).max() > furthest_mm:
            return None
        state = skin.state(result.points, result.skin)
        if state.worst >= -TOLERANCES.clear:
            return result.points
    return None


def _shifted_out(skin: MovedSkin, start: SkinState, freedom: PointFreedom, furthest_mm: float) -> Array | None:
    """A clear cage with all movable points shifted by one vector: up, or away from where it is too near."""
    near = start.excess < 0.0
    away = -(start.normal[near] * start.excess[near][:, None]).sum(axis=0)
    for direction in (away / max(float(np.linalg.norm(away)), TOLERANCES.weld), np.array([0.0, 0.0, 1.0])):
        for doubling in range(_SHIFTS):
            length = _FIRST_SHIFT_MM * 2.0**doubling - start.worst
            if length > furthest_mm:
                break
            points = start.points.copy()
            points[skin.moved_points] += freedom.restrict(np.tile(length * direction, (len(skin.moved_points), 1)))
            if skin.state(points).worst >= -TOLERANCES.clear:
                return points
    return None
