# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a refusal applies: a ring at the place in the 3D view with its sentence, until something changes."""

from __future__ import annotations

import textwrap
from typing import Any

import bpy
import numpy as np
from bpy_extras.view3d_utils import location_3d_to_region_2d
from mathutils import Vector

from ..draw.canvas import Canvas, CanvasPicture
from ..draw.canvas_room import canvas_room
from ..draw.view_hook import ViewHook
from ..state import session
from ..state.scene_settings import settings_of
from .view_figures import put_mark

_LINE = 52
"""Letters in a line of the sentence."""


def trouble_lines(sentence: str) -> tuple[str, ...]:
    """The sentence as it stands beside its place."""
    return tuple(textwrap.wrap(sentence, _LINE))


def _draw(_: None) -> None:
    context = bpy.context
    space: Any = context.space_data
    trouble = session.of_scene(context.scene).trouble
    if trouble is None or settings_of(context.scene).cage_object is None or not space.overlay.show_overlays:
        return
    at = location_3d_to_region_2d(context.region, context.region_data, Vector(trouble.place.tolist()))
    if at is None:
        return
    canvas, picture = Canvas(canvas_room(context).unit), CanvasPicture()
    put_mark(canvas, np.array(at, dtype=np.float64), *trouble_lines(trouble.sentence))
    picture.show(canvas)
    picture.draw()


_HOOK: ViewHook[None] = ViewHook(_draw, lambda: None, "POST_PIXEL")
register, unregister = _HOOK.register, _HOOK.unregister
