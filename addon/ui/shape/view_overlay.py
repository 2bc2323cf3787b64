# SPDX-License-Identifier: GPL-3.0-or-later
"""Readout, legend, section, side view and marks over the 3D view: made anew when something has changed, else only drawn."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np
from bpy_extras.view3d_utils import location_3d_to_region_2d
from mathutils import Vector

from ...core.colors.clearance_map import LegendStep, clearance_legend
from ..draw.canvas import Canvas
from ..draw.canvas_room import CanvasRoom, canvas_room
from ..draw.region_pictures import RegionPictures
from ..draw.view_hook import ViewHook
from ..state import session
from ..state.scene_settings import settings_of
from ..state.shown import Readout, Views
from ..watch import catch_up_timer
from ..watch.readout import MODES, readout, views
from .view_figures import put_legend, put_mark, put_note, put_rows, put_section, put_side

_SECTION_SIZE = (330.0, 250.0)
_SIDE_SIZE = (200.0, 250.0)
_LEAST_WIDTH = 190.0
"""Sizes in units of the interface; what does not find the least width is left out."""
_GAP = 8.0


def _draw(pictures: RegionPictures) -> None:
    context = bpy.context
    scene = context.scene
    settings = settings_of(scene)
    space: Any = context.space_data
    if settings.cage_object is None or not space.overlay.show_overlays:
        return
    state = session.of_scene(scene)
    if state.stale:  # the host calls no handler when another scene is shown
        catch_up_timer.start(scene)
    state.readout = readout(state, settings.hold, state.readout)
    if settings.show_section:
        state.views = views(state, _station(settings, state), state.views)
    _draw_pictures(pictures, context, settings, state)


def _station(settings: Any, state: session.SceneState) -> float:
    """Station of the section; that under the cursor stays while the cursor is beside the skin."""
    if settings.section_follows and state.cursor is not None:
        return state.cursor.station_deg
    return float(settings.section_station)


def _draw_pictures(pictures: RegionPictures, context: bpy.types.Context, settings: Any, state: session.SceneState) -> None:
    region, room = context.region, canvas_room(context)
    matrix = context.region_data.perspective_matrix
    view = (*matrix[0], *matrix[1], *matrix[2], *matrix[3])
    marks_key = (view, region.width, region.height, room.unit, settings.show_map, state.version, state.cursor)
    pictures.of(region, "marks").draw(marks_key, lambda: _marks(context, room, settings, state))
    shown = state.views if settings.show_section and state.shaped is not None else None
    figures_key = (room, _legend(settings, state), None if shown is None else shown.key)
    pictures.of(region, "figures").draw(figures_key, lambda: _figures(room, settings, state, shown))
    readout_key = (room, settings.hold, state.version, None if state.readout is None else state.readout.key)
    pictures.of(region, "readout").draw(readout_key, lambda: _readout(room, settings, state))


def _readout(room: CanvasRoom, settings: Any, state: session.SceneState) -> Canvas:
    """The rows, under the host's text on the left."""
    canvas, made = Canvas(room.unit), state.readout
    rows = _notices(settings, state) if made is None else made.rows
    put_rows(canvas, room.left, room.text_top, rows, made is None or made.broken)
    return canvas


def _figures(room: CanvasRoom, settings: Any, state: session.SceneState, shown: Views | None) -> Canvas:
    """Section, side view and legend along the bottom, from the right."""
    canvas = Canvas(room.unit)
    right, gap = room.right, _GAP * room.unit
    if shown is not None:
        width, height = _panel(_SECTION_SIZE, room, right)
        if width:
            put_section(canvas, right, room.low, (width, height), shown.section)
            right -= width + gap
        width, height = _panel(_SIDE_SIZE, room, right)
        if width:
            put_side(canvas, right, room.low, (width, height), shown.side)
            right -= width + gap
    legend = _legend(settings, state)
    if legend is not None:
        width = put_legend(Canvas(room.unit), 0.0, 0.0, *legend)
        if right - width >= room.left:
            put_legend(canvas, right - width, room.low, *legend)
    return canvas


def _legend(settings: Any, state: session.SceneState) -> tuple[tuple[LegendStep, ...], tuple[str, ...]] | None:
    """Fields and title of the legend of what is in color; None if nothing is."""
    if state.map_shown:
        return state.map_legend, state.map_title
    if settings.show_map and state.shaped is not None and state.facts is not None:
        return clearance_legend(state.facts.budget.required_mm), ("Clearance of", "the part, mm")
    return None


def _panel(size: tuple[float, float], room: CanvasRoom, right: float) -> tuple[float, float]:
    """Pixels that a panel gets to the left of `right`; no width if there is too little room."""
    width = min(size[0] * room.unit, right - room.left)
    return (width if width >= _LEAST_WIDTH * room.unit else 0.0), size[1] * room.unit


def _notices(settings: Any, state: session.SceneState) -> tuple[tuple[str, str], ...]:
    """Why nothing is watched."""
    if state.facts is None:
        return (("Not Watched", state.problem),)
    if settings.hold == "OFF":
        return (("Not Watched", f"hold is {MODES['OFF']}"),)
    sentences = [problem.sentence for problem in state.problems] or ["nothing of this scene was looked at yet"]
    return tuple(("Not Watched" if number == 0 else "", sentence) for number, sentence in enumerate(sentences))


def _marks(context: bpy.types.Context, room: CanvasRoom, settings: Any, state: session.SceneState) -> Canvas:
    """The place of the least room, and the value under the cursor."""
    made: Readout | None = state.readout
    canvas = Canvas(room.unit)
    if made is None or not settings.show_map:
        return canvas
    place = location_3d_to_region_2d(context.region, context.region_data, Vector(made.least_place.tolist()))
    if place is not None:
        put_mark(canvas, np.array(place, dtype=np.float64), made.least_text)
    reading = state.cursor
    if (
        reading is not None
        and reading.lines
        and reading.region == context.region.as_pointer()
        and reading.version == state.version
    ):
        put_note(canvas, np.array(reading.place, dtype=np.float64) + np.array([18.0, 14.0]) * room.unit, reading.lines)
    return canvas


_HOOK = ViewHook(_draw, RegionPictures, "POST_PIXEL")
register, unregister = _HOOK.register, _HOOK.unregister
