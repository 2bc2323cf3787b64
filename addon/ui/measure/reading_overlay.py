# SPDX-License-Identifier: GPL-3.0-or-later
"""Where to hold the tape, drawn over the 3D view: made anew when a reading or the job has changed, else only drawn."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import bpy

from ..draw.canvas import Canvas
from ..draw.canvas_room import CanvasRoom, canvas_room
from ..draw.region_pictures import RegionPictures
from ..draw.view_hook import ViewHook
from ..state import session
from ..state.scene_settings import settings_of
from ..state.shown import ReadingView
from .reading_figure import put_drawing
from .reading_view import MADE_UP, reading_view

_SIZE = (460.0, 470.0)
_LEAST = (220.0, 240.0)
_BELOW = 266.0
_NAVIGATION = 88.0
"""Sizes in units of the interface: of the panel, the least that shows anything, what section and side view take below, and
the host's axes and buttons on the right."""


def _draw(pictures: RegionPictures) -> None:
    context = bpy.context
    settings = settings_of(context.scene)
    space: Any = context.space_data
    if not settings.readings.show_drawing or not space.overlay.show_overlays:
        return
    state = session.of_scene(context.scene)
    view, room = reading_view(state, settings), canvas_room(context)
    below = settings.show_section and state.shaped is not None
    if space.show_gizmo and space.show_gizmo_navigate:
        room = replace(room, right=room.right - _NAVIGATION * room.unit)
    pictures.of(context.region, "reading").draw((room, below, view.key), lambda: reading_canvas(room, view, below))


def reading_canvas(room: CanvasRoom, view: ReadingView, below: bool) -> Canvas:
    """The panel in the upper right corner of the room; nothing where there is too little.

    below : room is kept for the section below, if the view is high enough for both
    """
    canvas = Canvas(room.unit)
    width = min(_SIZE[0] * room.unit, room.right - room.left)
    height = min(_SIZE[1] * room.unit, room.high - room.low)
    over_section = room.high - room.low - _BELOW * room.unit
    if below and over_section >= _LEAST[1] * room.unit:
        height = min(height, over_section)
    if view.drawing is not None and width >= _LEAST[0] * room.unit and height >= _LEAST[1] * room.unit:
        put_drawing(canvas, room.right, room.high, (width, height), view.drawing, () if view.provisional.is_own else (MADE_UP,))
    return canvas


_HOOK = ViewHook(_draw, RegionPictures, "POST_PIXEL")
register, unregister = _HOOK.register, _HOOK.unregister
