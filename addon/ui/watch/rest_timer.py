# SPDX-License-Identifier: GPL-3.0-or-later
"""Work that waits until nothing moves: lines drawn as curves, the trim, the proof of the clearance that is shown."""

from __future__ import annotations

import bpy

from ..state import session
from ..state.bike_pose import show_pose
from ..state.trim_curves import follow_curves
from ..state.trim_view import trim_view
from .readout import at_rest

_REST_S = 0.4
_seen: dict[int, int] = {}


def start(scene: bpy.types.Scene) -> None:
    """Do `rest` for a scene when nothing has moved for a moment. Without a window there are no timers, and no need."""
    _seen[scene.session_uid] = -1
    if not bpy.app.background and not bpy.app.timers.is_registered(_tick):
        bpy.app.timers.register(_tick, first_interval=_REST_S)


def rest(scene: bpy.types.Scene) -> None:
    """Take what was drawn, work out the trim and prove the clearance."""
    if follow_curves(scene):
        return  # the step that follows starts the wait anew
    state = session.of_scene(scene)
    if state.shaped is None or state.facts is None:
        return
    state.at_rest = at_rest(state)
    if state.shown_pose is not None:
        show_pose(scene, state.shown_pose)
    state.trim_view, trouble = trim_view(state.facts.job, state.shaped, session.mesh_bodies(scene))
    if trouble is not None:
        session.mark_trouble(scene, trouble)


def _tick() -> float | None:
    for scene in bpy.data.scenes:
        uid = scene.session_uid
        if uid not in _seen:
            continue
        state = session.of_scene(scene)
        if _seen[uid] != state.version:
            _seen[uid] = state.version
            continue
        del _seen[uid]
        rest(scene)
        session.redraw_views()
    known = {scene.session_uid for scene in bpy.data.scenes}
    for uid in set(_seen) - known:
        del _seen[uid]
    return _REST_S if _seen else None


def register() -> None:
    """Nothing is waited for yet."""
    _seen.clear()


def unregister() -> None:
    """Forget what was waited for."""
    _seen.clear()
    if bpy.app.timers.is_registered(_tick):
        bpy.app.timers.unregister(_tick)
