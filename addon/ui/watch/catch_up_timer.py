# SPDX-License-Identifier: GPL-3.0-or-later
"""Goes on with what a mouse step had no time for: the host does not call handlers for what they wrote themselves."""

from __future__ import annotations

import bpy

from ..state.scene_settings import settings_of

_PAUSE_S = 0.03
"""Longer than from one mouse step to the next, so that a drag is not slowed."""
_waiting: set[int] = set()


def start(scene: bpy.types.Scene) -> None:
    """Have the cage of a scene looked at again in a moment, unless it changes before."""
    _waiting.add(scene.session_uid)
    if bpy.app.timers.is_registered(_tick):
        bpy.app.timers.unregister(_tick)
    bpy.app.timers.register(_tick, first_interval=_PAUSE_S)


def _tick() -> None:
    for scene in bpy.data.scenes:
        cage = settings_of(scene).cage_object
        if scene.session_uid in _waiting and cage is not None:
            cage.update_tag()
    _waiting.clear()


def register() -> None:
    """Nothing is waited for yet."""
    _waiting.clear()


def unregister() -> None:
    """Forget what was waited for."""
    _waiting.clear()
    if bpy.app.timers.is_registered(_tick):
        bpy.app.timers.unregister(_tick)
