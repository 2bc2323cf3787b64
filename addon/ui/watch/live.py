# SPDX-License-Identifier: GPL-3.0-or-later
"""One step of watching the cage: read it, keep it clear, write it back, remember what the views show."""

from __future__ import annotations

import bpy
import numpy as np

from ...core.base.errors import CageError
from ...core.shaping.shaper import STEP_BUDGET_S, Hold, Shaped, Shaper
from ...core.skin.cage import Cage, same_faces
from ...host.cage.cage_mesh import read_cage, read_seat, write_points
from ...host.cage.cage_object_problems import (
    CageObjectProblem,
    cage_object_problems,
    fineness_problems,
    is_in_scene,
    missing_in_scene,
    object_problems,
)
from ..state import session
from ..state.scene_settings import settings_of
from ..state.scene_state import Trouble
from ..state.shown import said_place
from . import catch_up_timer, rest_timer
from .things import look


def live_step(
    scene: bpy.types.Scene,
    *,
    hold: Hold | None = None,
    budget_s: float | None = STEP_BUDGET_S,
    to_rest: bool | None = None,
    looked: bool = False,
) -> session.SceneState:
    """Bring the state of a scene up to date with its cage, and the cage, if it is held, back to where it is clear.

    hold : None for the scene's own choice; budget_s : see Shaper.step
    to_rest : whether to go on at once with what one step had no time for; by default only where no timer will, without a
        window or without a budget
    looked : True if all that the job depends on was looked at already
    """
    state = session.of_scene(scene) if looked else look(scene)
    settings = settings_of(scene)
    hold = Hold(settings.hold) if hold is None else hold
    if state.facts is not None:
        state.trouble = None
    ob = settings.cage_object
    if state.facts is None or hold is Hold.OFF or ob is None:
        _show_nothing(state)
        return state
    if not is_in_scene(ob, scene):
        _show_nothing(state, [missing_in_scene(ob)])
        return state
    try:
        too_fine = fineness_problems(ob, state.facts.job.cage.level) if ob.type == "MESH" else []
        if too_fine:
            _show_nothing(state, too_fine)
            return state
        cage = read_cage(ob) if ob.type == "MESH" else None
        problems = _problems(state, ob, cage, hold)
        if any(problem.stops for problem in problems) or cage is None:
            _show_nothing(state, problems)
            return state
        seat = session.seat_rows(state, read_seat(ob)) if settings.hold_seat else None
        shaper = _shaper(state, ob, state.facts.job.cage.level)
        shaped = shaper.step(cage, state.facts.field, hold, seat=seat, budget_s=budget_s)
        moved_back = shaped.moved_back
        to_rest = bpy.app.background or budget_s is None if to_rest is None else to_rest
        while not shaped.settled and to_rest:
            shaped = shaper.step(shaped.cage, state.facts.field, hold, seat=seat, budget_s=budget_s)
            moved_back = moved_back or shaped.moved_back
    except (CageError, ValueError) as error:
        _show_nothing(state, [CageObjectProblem("no_skin", str(error))])
        return state
    state.pose = state.pose if _is_as_before(state.shaped, shaped) else None
    state.shaped, state.problems, state.at_rest, state.watched_name = shaped, tuple(problems), None, ob.name
    if hold is Hold.HOLD and not shaped.clear:
        state.trouble = Trouble(refusal(shaped), shaped.skin[shaped.worst.index])
    state.version += 1
    rest_timer.start(scene)
    if not shaped.settled and not bpy.app.background:
        catch_up_timer.start(scene)
    if moved_back:
        with session.OwnChange():
            write_points(ob, shaped.cage.points)
    return state


def _is_as_before(before: Shaped | None, now: Shaped) -> bool:
    """True if neither the skin nor what it is kept away from has changed."""
    return before is not None and np.array_equal(before.skin, now.skin) and np.array_equal(before.excess, now.excess)


def refusal(shaped: Shaped) -> str:
    """Why a held cage is not clear, and where."""
    worst = shaped.worst
    place = said_place(shaped.skin[worst.index])
    return f"{-worst.excess_mm:.1f} mm are missing to the {worst.name} at {place}, and no sane move of the cage gives them"


def _problems(state: session.SceneState, ob: bpy.types.Object, cage: Cage | None, hold: Hold) -> list[CageObjectProblem]:
    """The faults of the cage object; those of its faces are looked for only when they are others than before.

    Points are held on their side of the mirror plane, so that they are looked for across it only where they are not held.
    """
    shaped = state.shaped
    known = cage is not None and shaped is not None and same_faces(cage.topology, shaped.cage.topology)
    if known and (hold is Hold.HOLD or cage.points[:, 0].min() >= 0.0):
        return [*object_problems(ob), *(problem for problem in state.problems if not problem.stops)]
    return cage_object_problems(ob)


def _shaper(state: session.SceneState, ob: bpy.types.Object, level: int) -> Shaper:
    if state.shaper is None or state.watched != ob.session_uid or state.shaper.level != level:
        state.shaper, state.watched = Shaper(level), ob.session_uid
    return state.shaper


def _show_nothing(state: session.SceneState, problems: list[CageObjectProblem] | None = None) -> None:
    """There is no skin to show; what was last clear is kept, for when there is one again."""
    state.problems = tuple(problems or ())
    state.shaped = None
    state.version += 1
