# SPDX-License-Identifier: GPL-3.0-or-later
"""What the host calls on its own: handlers only look whether something of ours changed, and trigger one step."""

from __future__ import annotations

from typing import Any

import bpy
from bpy.app.handlers import persistent

from ...host.cage.cage_object_problems import is_in_scene
from ..state import session
from ..state.scene_settings import settings_of
from ..state.trim_curves import linked_uids
from . import rest_timer
from .live import live_step


@persistent
def after_update(scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph) -> None:
    """The cage or its modifiers changed, or it is no longer there: one step of watching it."""
    if session.is_own_change():
        return
    linked = linked_uids(scene)
    if linked and any(update.id.original.session_uid in linked for update in depsgraph.updates):
        rest_timer.start(scene)
    cage = settings_of(scene).cage_object
    if cage is None or not is_in_scene(cage, scene):
        if session.of_scene(scene).shaped is not None:
            live_step(scene)
        return
    of_cage = {cage.session_uid, cage.data.session_uid if cage.data is not None else 0}
    if any(update.id.original.session_uid in of_cage for update in depsgraph.updates):
        live_step(scene)


@persistent
def after_undo(*_: Any) -> None:
    """Properties and cage are those of another time; the update that follows makes the step."""
    session.mark_undone()


@persistent
def before_load(*_: Any) -> None:
    session.forget_all()


@persistent
def after_load(*_: Any) -> None:
    for scene in bpy.data.scenes:
        live_step(scene)


HANDLERS: tuple[tuple[str, Any], ...] = (
    ("depsgraph_update_post", after_update),
    ("undo_post", after_undo),
    ("redo_post", after_undo),
    ("load_pre", before_load),
    ("load_post", after_load),
)


def register() -> None:
    for name, handler in HANDLERS:
        getattr(bpy.app.handlers, name).append(handler)


def unregister() -> None:
    for name, handler in reversed(HANDLERS):
        getattr(bpy.app.handlers, name).remove(handler)
    session.forget_all()
