# SPDX-License-Identifier: GPL-3.0-or-later
"""One step of watching the cage: read it, keep it clear, write it back, remember what the views show."""

from __future__ import annotations

import bpy

from ..core.errors import CageError
from ..core.shaper import STEP_BUDGET_S, Hold, Shaper
from ..host.cage_mesh import read_cage, read_seat, write_points
from ..host.cage_object_problems import cage_object_problems
from . import session
from .settings import settings_of


def live_step(scene: bpy.types.Scene, *, hold: Hold | None = None, budget_s: float | None = STEP_BUDGET_S) -> session.SceneState:
    """Bring the state of a scene up to date with its cage, and the cage, if it is held, back to where it is clear.

    hold : None for the scene's own choice
    """
    state = session.of_scene(scene)
    settings = settings_of(scene)
    hold = Hold(settings.hold) if hold is None else hold
    cage_object = _cage_object(scene, settings)
    if state.facts is None or cage_object is None or hold is Hold.OFF:
        _show_nothing(state)
        return state
    problems = cage_object_problems(cage_object)
    state.cage_problems = tuple(problem.sentence for problem in problems)
    if any(problem.stops for problem in problems):
        _show_nothing(state, state.cage_problems)
        return state
    shaper = _shaper(state, cage_object, state.facts.job.cage.level)
    seat = read_seat(cage_object) if settings.hold_seat else None
    try:
        state.shaped = shaper.step(
            read_cage(cage_object),
            state.facts.field,
            hold,
            seat=None if seat is None else session.seat_rows(state, seat),
            budget_s=budget_s,
        )
    except CageError as error:
        _show_nothing(state, (str(error),))
        return state
    state.version += 1
    if state.shaped.moved_back:
        with session.OwnChange():
            write_points(cage_object, state.shaped.cage.points)
    return state


def _cage_object(scene: bpy.types.Scene, settings: object) -> bpy.types.Object | None:
    """The cage of the scene; None if it was deleted or taken out of the scene."""
    ob = settings.cage_object  # type: ignore[attr-defined]
    return ob if ob is not None and ob.name in scene.objects else None


def _shaper(state: session.SceneState, ob: bpy.types.Object, level: int) -> Shaper:
    if state.shaper is None or state.watched != ob.session_uid or state.shaper.level != level:
        state.shaper, state.watched = Shaper(level), ob.session_uid
    return state.shaper


def _show_nothing(state: session.SceneState, problems: tuple[str, ...] = ()) -> None:
    state.cage_problems = problems
    if state.shaped is not None:
        state.shaped = None
        state.version += 1
