# SPDX-License-Identifier: GPL-3.0-or-later
"""What the host calls on its own: handlers only look whether something of ours changed, and trigger one step."""

from __future__ import annotations

from typing import Any

import bpy
from bpy.app.handlers import persistent

from ..state import session
from .live import live_step
from .things import change_of, notice


@persistent
def after_update(scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph) -> None:
    """Something changed: if the cage hangs on it, one step of watching it."""
    if session.is_own_change():
        session.mark_stale(scene)
        return
    if notice(scene, change_of(depsgraph, False)):
        live_step(scene, looked=True)


@persistent
def after_undo(*_: Any) -> None:
    """Properties and cage are those of another time; the update that follows makes the step."""
    session.mark_undone()


@persistent
def before_load(*_: Any) -> None:
    session.forget_all()


@persistent
def after_load(*_: Any) -> None:
    live_step(bpy.context.scene)


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
