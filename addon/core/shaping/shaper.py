# SPDX-License-Identifier: GPL-3.0-or-later
"""Watches one cage while it is shaped: keeps it clear, and knows its skin and clearance."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, replace
from enum import Enum
from hashlib import blake2b

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..base.row_vectors import farthest
from ..base.tolerances import TOLERANCES
from ..bodies.body import Body
from ..bodies.cached_body import CachedBody
from ..clearance.clearance_field import ClearanceField, Limit, Worst
from ..skin.cage import Cage, CageTopology, same_faces
from ..skin.cage_problems import fatal_problems
from ..skin.skin_stencil import SkinStencil, StencilCache
from ..skin.subdivision.whole_cage import whole_cage
from .guard import guard
from .guard_cache import GuardCache
from .point_freedom import SeatRows
from .restore import make_clear

ROUNDS = 3
ROUNDS_IN_STEP = 1
"""Rounds from rest, and in a step of a drag: what is left is made up in the next, or in the update after our own write."""
STEP_BUDGET_S = 0.012
"""A mouse step starts no further round after this; the last clear cage stands."""

LEASH = 4.0
"""No skin point moves further in a step than this many times what the builder asked of any cage point in it."""

SANE_SHARE, SANE_MM = 1.5, 5.0
"""Where what is kept away from has changed, no skin point is pushed further than this many times what is missing, and so many mm."""
_FURTHEST_SHARE, _FURTHEST_MM = 4.0, 100.0
"""The same of cage points where there is no clear cage to come from."""
_REMEMBERED = 4096
_GUARD_REACH_MM = 10.0
"""Beyond what is required: further from a body than that no plane of it holds the skin back."""
_ROUNDING_MM = 2e-4
"""More than 32 bits take from a clearance: half a unit in the last place at 2 m is 6e-5 mm."""
_MOST_CATCH_UPS = 30
_LEAST_WAY_MM = 0.01
"""A step that moves the skin less has made up for all that can be seen."""
SHORT_OF_PLANE_MM = 0.5
"""Points of a half that are dragged across the mirror plane stop this far before it, mm."""


class Hold(Enum):
    """What a step does where the skin would break the clearance."""

    HOLD = "HOLD"
    WARN = "WARN"
    OFF = "OFF"


@dataclass(frozen=True, eq=False)
class Shaped:
    """A cage after a step.

    cage : where the cage is now; moved_back : True if that is not what was asked for
    stencil : of its topology; skin : (p, 3) float, mm; excess : (p,) float, mm over what is required; limit : (p,) int, the
    limit that is nearest to being broken
    worst : the least excess; clear : it is not under -TOLERANCES.clear
    settled : False if a further step with this very cage may come nearer to what was asked for
    """

    cage: Cage
    moved_back: bool
    stencil: SkinStencil
    skin: Array
    excess: Array
    limit: Index
    worst: Worst
    clear: bool
    settled: bool


class Shaper:
    """Owns what one step can hand to the next: the last clear cage, stencils, and where remembered requests ended.

    A host that undoes brings back what was asked for, not where the guard ended; `recall` makes the next step look that up.
    """

    def __init__(self, level: int) -> None:
        self.level = level
        self._stencils = StencilCache()
        self._cache = GuardCache()
        self._last: Cage | None = None
        self._exact: Array | None = None
        self._margin: tuple[ClearanceField, ClearanceField] | None = None
        self._asked: Cage | None = None
        self._stride = 0.0
        self._left = 0.0
        self._skin: Array | None = None
        self._catch_ups = 0
        self._in_time = True
        self._field: ClearanceField | None = None
        self._remembered: OrderedDict[bytes, tuple[ClearanceField, Array]] = OrderedDict()
        self._recall = False
        self._written: Cage | None = None
        self._seen_field: ClearanceField | None = None
        self._refused = False
        self._home: Cage | None = None
        """Where the builder left the cage that has since given way to what it is kept away from."""

    def recall(self) -> None:
        """The next step comes from undo or redo."""
        self._recall = True

    def step(
        self,
        asked: Cage,
        field: ClearanceField,
        hold: Hold = Hold.HOLD,
        *,
        seat: SeatRows | None = None,
        budget_s: float | None = None,
    ) -> Shaped:
        """The cage nearest to the one asked for that is clear (if hold is HOLD), with its skin and clearance.

        asked : present cage of the host, points as float32 values; seat : points that stay on their plane
        budget_s : see guard; None for no bound
        Raises CageError if the cage has no skin.
        """
        gives_way = hold is Hold.HOLD and self._gives_way(asked, field)
        wish = self._home if gives_way and self._home is not None else self._wish(asked) if hold is Hold.HOLD else asked
        stencil = self._stencils.get(wish.topology, self.level)
        held = self._given_way if gives_way else self._held
        exact = held(wish, stencil, self._with_margin(field), seat, budget_s) if hold is Hold.HOLD else None
        stays = hold is not Hold.HOLD or (gives_way and exact is None)
        points = asked.points if stays else _as_host(wish.points if exact is None else exact)
        cage = Cage(wish.topology, points, asked.paint)
        skin = stencil.position.apply(points)
        if self._skin is not None and len(self._skin) == len(skin):
            way = farthest(skin, self._skin)
            self._left = max(self._left - way, 0.0)
            if way < _LEAST_WAY_MM and self._in_time:
                self._catch_ups = 0
        self._skin = skin
        excess, limit = field.excess_and_limit(skin)
        index = int(excess.argmin())
        worst = Worst(float(excess[index]), index, int(limit[index]), field.limits[limit[index]].name)
        clear = worst.excess_mm >= -TOLERANCES.clear
        if exact is not None or not gives_way:
            self._last, self._exact = (cage if exact is not None else None), exact
        self._refused = gives_way and exact is None
        self._field, self._seen_field, self._recall, self._written = (None if self._refused else field), field, False, cage
        settled = exact is None or self._catch_ups == 0 or self._left == 0.0
        return Shaped(cage, bool((points != asked.points).any()), stencil, skin, excess, limit, worst, clear, settled)

    def _on_its_side(self, asked: Cage) -> Cage:
        """What is asked, with points of the mirror plane on it as before, and no other point across it."""
        topology, last = asked.topology, self._last
        if not topology.mirrored:
            return asked
        if last is not None and same_faces(last.topology, topology):
            topology = _still_on_plane(last.topology, topology)
        points = asked.points.copy()
        off_plane = ~topology.on_plane
        points[off_plane, 0] = np.maximum(points[off_plane, 0], SHORT_OF_PLANE_MM)
        points[topology.on_plane, 0] = 0.0
        return Cage(topology, points)

    def _wish(self, asked: Cage) -> Cage:
        """What the builder asked last, if the host only gives back what we wrote and that was not yet all that can be had."""
        last = self._last
        if last is None or not same_faces(last.topology, asked.topology) or not np.array_equal(asked.points, last.points):
            self._catch_ups = _MOST_CATCH_UPS
            return self._on_its_side(asked)
        if self._asked is not None and 0 < self._catch_ups:
            self._catch_ups -= 1
            return self._asked
        return last

    def _gives_way(self, asked: Cage, field: ClearanceField) -> bool:
        """True where the cage stands as we left it, and what it is kept away from has changed, or still is being given way to."""
        written = self._written
        left_alone = written is not None and same_faces(written.topology, asked.topology)
        if self._recall or written is None or not left_alone or not np.array_equal(asked.points, written.points):
            self._home = None
            return False
        if field is not self._seen_field:
            self._home = self._home or self._last
            self._catch_ups, self._left = _MOST_CATCH_UPS, np.inf
        elif self._home is not None and self._catch_ups > 0 and not self._refused:
            self._catch_ups -= 1
        else:
            return self._home is not None and self._refused
        return self._home is not None

    def _given_way(
        self, home: Cage, stencil: SkinStencil, field: ClearanceField, seat: SeatRows | None, budget_s: float | None
    ) -> Array | None:
        """The clear cage nearest to where the builder left it, from the last clear one; None if it is further than is sane."""
        self._asked = home
        at_home = stencil.position.apply(home.points)
        missing = -float(field.excess(at_home).min())
        if missing <= TOLERANCES.clear:
            self._catch_ups = 0
            return home.points
        sane = SANE_SHARE * missing + SANE_MM
        exact, fixed_x = self._start(home, stencil, field), home.topology.on_plane
        if exact is not None:
            result = guard(
                exact,
                home.points,
                stencil.position,
                field,
                fixed_x=fixed_x,
                seat=seat,
                rounds=ROUNDS,
                time_budget_s=budget_s,
                cache=self._cache,
            )
            if farthest(stencil.position.apply(result.points), at_home) <= sane:
                self._catch_ups = 0 if result.settled else self._catch_ups
                return result.points
        begin = home.points if self._exact is None or len(self._exact) != len(home.points) else self._exact
        for start, held in ((begin, seat), (home.points, seat), (home.points, None)):
            result = make_clear(
                start, stencil.position, field, fixed_x=fixed_x, seat=held, home=home.points, furthest_mm=2.0 * sane
            )
            if result.clear and farthest(stencil.position.apply(result.points), at_home) <= sane:
                self._catch_ups = 0
                return result.points
        return None

    def _leash(self, asked: Cage) -> float:
        """How far the skin may move in this step, mm: what a request allows, less what was used in catching up with it.

        A request is measured from the one before it, as in a drag, or from where the cage is, as at the start of one, whichever
        is nearer. What undo or redo brings back may be far from both.
        """
        if asked is not self._asked and asked is not self._last:
            known = [cage for cage in (self._asked, self._last) if cage is not None and cage.topology.key == asked.topology.key]
            if known:
                stride = min(farthest(asked.points, cage.points) for cage in known)
                self._stride = stride or self._stride
            self._asked = asked
            self._left = np.inf if self._recall else LEASH * self._stride
        return self._left

    def _with_margin(self, field: ClearanceField) -> ClearanceField:
        """The field that the guard works in: what the host's 32 bits may take is kept on top, so that what it holds is clear."""
        if self._margin is None or self._margin[0] is not field:
            limits = [
                replace(limit, body=_near_only(limit), required_mm=limit.required_mm + _ROUNDING_MM) for limit in field.limits
            ]
            self._margin = (field, ClearanceField(limits))
            self._remembered.clear()  # they would keep the bodies of all fields that ever were
        return self._margin[1]

    def _held(
        self, asked: Cage, stencil: SkinStencil, field: ClearanceField, seat: SeatRows | None, budget_s: float | None
    ) -> Array | None:
        """The clear cage points nearest to those asked for, before they are rounded for the host; None if none was found."""
        key = _digest(asked)
        known = self._recalled(key, field)
        if known is not None and _is_clear(known, stencil, field):
            self._asked, self._catch_ups = asked, 0
            return known
        leash = self._leash(asked)
        exact = self._start(asked, stencil, field)
        if exact is not None and self._last is not None:
            # what the host gives back as it was written stands for the exact point
            unmoved = (asked.points == self._last.points).all(axis=1)
            result = guard(
                exact,
                np.where(unmoved[:, None], exact, asked.points),
                stencil.position,
                field,
                fixed_x=asked.topology.on_plane,
                seat=seat,
                rounds=ROUNDS if budget_s is None else ROUNDS_IN_STEP,
                time_budget_s=budget_s,
                longest_step_mm=None if budget_s is None else leash,
                cache=self._cache,
            )
            points, self._in_time = result.points, result.rounds > 0
            if result.settled:
                self._catch_ups = 0
        elif _is_clear(asked.points, stencil, field):
            self._catch_ups = 0
            return asked.points
        else:
            found = self._made_clear(asked, stencil, field, seat)
            if found is None:
                return None
            points = found
        self._remember(key, field, points)
        return points

    def _made_clear(self, asked: Cage, stencil: SkinStencil, field: ClearanceField, seat: SeatRows | None) -> Array | None:
        """The points asked for, made clear: by moving only those that are not of the last clear cage, if that is enough.

        Where the seat's points cannot be held besides, as when they were extruded away from the seat, clearance comes first.
        """
        every = np.ones(len(asked.points), bool)
        new = every if self._last is None else _not_among(asked.points, self._last.points)
        tries = [(new, seat), (every, seat)] + ([(every, None)] if seat is not None else [])
        missing = -float(field.excess(stencil.position.apply(asked.points)).min())
        furthest = _FURTHEST_SHARE * missing + _FURTHEST_MM
        for movable, held in tries:
            if not movable.any():
                continue
            result = make_clear(
                asked.points,
                stencil.position,
                field,
                movable=movable,
                fixed_x=asked.topology.on_plane,
                seat=held,
                furthest_mm=furthest,
            )
            if result.clear and _is_clear(result.points, stencil, field):
                return result.points
        return None

    def _start(self, asked: Cage, stencil: SkinStencil, field: ClearanceField) -> Array | None:
        """The exact points of the last clear cage, if it is one of the same topology and still clear."""
        last, exact = self._last, self._exact
        if last is None or exact is None or last.topology.key != asked.topology.key:
            return None
        same_field = self._margin is not None and self._field is self._margin[0]
        return exact if same_field or _is_clear(exact, stencil, field) else None

    def _recalled(self, key: bytes, field: ClearanceField) -> Array | None:
        """Where the same request ended in the same field, if the step comes from undo or redo."""
        known = self._remembered.get(key) if self._recall else None
        return known[1] if known is not None and known[0] is field else None

    def _remember(self, key: bytes, field: ClearanceField, points: Array) -> None:
        self._remembered[key] = (field, points)
        self._remembered.move_to_end(key)
        while len(self._remembered) > _REMEMBERED:
            self._remembered.popitem(last=False)


def _still_on_plane(last: CageTopology, now: CageTopology) -> CageTopology:
    """The faces with the points on the plane that were there before, and those that came to it if that leaves a skin."""
    on_plane = last.on_plane | now.on_plane
    if (on_plane == last.on_plane).all():
        return last
    grown = replace(now, on_plane=on_plane)
    return last if fatal_problems(grown, whole_cage(grown)) else grown


def _not_among(points: Array, known: Array) -> Mask:
    """(n,) bool, points (n, 3) that are no point of known (m, 3), to the last bit."""
    rows = {row.tobytes() for row in known}
    return np.array([row.tobytes() not in rows for row in points])


def _near_only(limit: Limit) -> Body:
    """The body of a limit, exact as far from it as a step of the guard needs to know."""
    return limit.body.within(limit.required_mm + _GUARD_REACH_MM) if isinstance(limit.body, CachedBody) else limit.body


def _digest(cage: Cage) -> bytes:
    return blake2b(cage.topology.key + cage.points.tobytes(), digest_size=16).digest()


def _is_clear(points: Array, stencil: SkinStencil, field: ClearanceField) -> bool:
    return bool(field.excess(stencil.position.apply(points)).min() >= -TOLERANCES.clear)


def _as_host(points: Array) -> Array:
    """Points as the host will hold them, in 32 bits."""
    return points.astype(np.float32).astype(np.float64)
