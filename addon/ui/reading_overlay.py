# SPDX-License-Identifier: GPL-3.0-or-later
"""Where to hold the tape, drawn over the 3D view: made anew when a reading or the job has changed, else only drawn."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import bpy

from . import session
from .canvas import Canvas, CanvasPicture
from .canvas_room import CanvasRoom, canvas_room
from .reading_figure import put_drawing
from .reading_view import MADE_UP, ReadingView, reading_view
from .settings import settings_of

_SIZE = (460.0, 470.0)
_LEAST = (220.0, 240.0)
_BELOW = 266.0
_NAVIGATION = 88.0
"""Sizes in units of the interface: of the panel, the least that shows anything, what section and side view take below, and
the host's axes and buttons on the right."""
_MOST_REGIONS = 16


@dataclass(eq=False)
class _Kept:
    """The picture of one region, and what it was made from."""

    picture: CanvasPicture = field(default_factory=CanvasPicture)
    key: object = None


@dataclass(eq=False)
class _Drawn:
    handle: Any = None
    regions: dict[int, _Kept] = field(default_factory=dict)


_DRAWN = _Drawn()


def _draw() -> None:
    context = bpy.context
    settings = settings_of(context.scene)
    space: Any = context.space_data
    if not settings.readings.show_drawing or not space.overlay.show_overlays:
        return
    state = session.of_scene(context.scene)
    view, room = reading_view(state, settings), canvas_room(context)
    below = settings.show_section and state.shaped is not None
    if len(_DRAWN.regions) > _MOST_REGIONS:
        _DRAWN.regions.clear()
    kept = _DRAWN.regions.setdefault(context.region.as_pointer(), _Kept())
    if space.show_gizmo and space.show_gizmo_navigate:
        room = replace(room, right=room.right - _NAVIGATION * room.unit)
    key = (room, below, view.key)
    if kept.key != key:
        kept.picture.show(reading_canvas(room, view, below))
        kept.key = key
    kept.picture.draw()


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


def register() -> None:
    _DRAWN.handle = bpy.types.SpaceView3D.draw_handler_add(_draw, (), "WINDOW", "POST_PIXEL")


def unregister() -> None:
    """Take the handler back, and what is on the graphics processor with it."""
    global _DRAWN
    bpy.types.SpaceView3D.draw_handler_remove(_DRAWN.handle, "WINDOW")
    _DRAWN = _Drawn()
