# SPDX-License-Identifier: GPL-3.0-or-later
"""Text and drawings over the 3D view: readout, legend, section, side view, the place of the least room, the value under the cursor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import blf
import bpy
import gpu
import numpy as np
from bpy_extras.view3d_utils import location_3d_to_region_2d, region_2d_to_origin_3d, region_2d_to_vector_3d
from gpu_extras.batch import batch_for_shader
from mathutils import Vector

from ..core.arrays import Array
from ..core.clearance_map import clearance_legend
from ..core.tables.clearance_map import BLACK, VERMILLION
from ..core.view_lines import Role, ViewLine
from . import session
from .readout import Readout, readout, under_cursor
from .settings import settings_of

_STATE: Any = gpu.state
_FONT = 0
_TEXT_PIXELS = 12.0
_WHITE = (0.95, 0.95, 0.95, 1.0)
_PANEL = (0.08, 0.08, 0.08, 0.72)
_COLORS = {
    Role.TIRE: (0.55, 0.55, 0.55, 1.0),
    Role.ENVELOPE: (0.90, 0.90, 0.90, 1.0),
    Role.REQUIRED: (*VERMILLION, 1.0),
    Role.OUTER: (0.35, 0.70, 0.90, 1.0),
    Role.INNER: (0.35, 0.70, 0.90, 1.0),
    Role.MOUNT: (0.94, 0.89, 0.26, 1.0),
    Role.STATION: (0.70, 0.70, 0.70, 0.8),
}
"""Blue and yellow are of the set of Okabe and Ito (2008), as the vermillion is."""
_SECTION_SIZE = (300.0, 220.0)
_SIDE_SIZE = (220.0, 220.0)
_EDGE = 14.0


@dataclass(frozen=True)
class _Canvas:
    """The part of a region that no other region covers, in pixels, and the size of a pixel of the interface."""

    left: float
    right: float
    bottom: float
    top: float
    unit: float


@dataclass(eq=False)
class _Drawn:
    handle: Any = None
    cursor: tuple[int, int] | None = None


_DRAWN = _Drawn()


def cursor_at(place: tuple[int, int] | None) -> None:
    """Where the mouse is, in pixels of the 3D view's region; None if it is not over one."""
    _DRAWN.cursor = place


def _draw() -> None:
    context = bpy.context
    scene = context.scene
    state = session.of_scene(scene)
    settings = settings_of(scene)
    cursor = _under_cursor(context, state)
    station = cursor[1] if settings.section_follows and cursor is not None else settings.section_station
    state.readout = made = readout(state, settings.hold, station, state.readout)
    canvas = _canvas(context)
    if made is None:
        if state.problems:
            _draw_problems(canvas, [problem.sentence for problem in state.problems])
        return
    gpu.state.blend_set("ALPHA")
    try:
        _draw_readout(canvas, made, None if cursor is None else cursor[0])
        if settings.show_map and state.facts is not None:
            _draw_legend(canvas, state.facts.budget.required_mm)
            _draw_least(context, canvas, made)
        if settings.show_section:
            _draw_views(canvas, made)
    finally:
        gpu.state.blend_set("NONE")


def _under_cursor(context: bpy.types.Context, state: session.SceneState) -> tuple[str, float] | None:
    if _DRAWN.cursor is None or state.readout is None:
        return None
    region, view = context.region, context.region_data
    origin = np.array(region_2d_to_origin_3d(region, view, _DRAWN.cursor), dtype=np.float64)
    direction = np.array(region_2d_to_vector_3d(region, view, _DRAWN.cursor), dtype=np.float64)
    return under_cursor(state, state.readout, origin, direction / np.linalg.norm(direction))


def _canvas(context: bpy.types.Context) -> _Canvas:
    region = context.region
    unit = float(context.preferences.system.ui_scale)
    covered = {"LEFT": 0.0, "RIGHT": 0.0, "TOP": 0.0, "BOTTOM": 0.0}
    for other in context.area.regions:
        if other.type in {"UI", "TOOLS"} and other.width > 1:
            covered[other.alignment] = max(covered.get(other.alignment, 0.0), float(other.width))
    return _Canvas(
        covered["LEFT"] + _EDGE * unit,
        region.width - covered["RIGHT"] - _EDGE * unit,
        _EDGE * unit,
        region.height - 130.0 * unit,
        unit,
    )


def _draw_readout(canvas: _Canvas, made: Readout, cursor: str | None) -> None:
    lines = [*made.lines, *([f"Under the cursor: {cursor}"] if cursor else [])]
    for row, line in enumerate(lines):
        color = (*VERMILLION, 1.0) if row == 0 and made.broken else _WHITE
        _text(line, canvas.left, canvas.top - row * 1.5 * _TEXT_PIXELS * canvas.unit, canvas.unit, color)


def _draw_problems(canvas: _Canvas, sentences: list[str]) -> None:
    for row, sentence in enumerate(["The cage is not watched:", *sentences]):
        _text(sentence, canvas.left, canvas.top - row * 1.5 * _TEXT_PIXELS * canvas.unit, canvas.unit, (*VERMILLION, 1.0))


def _draw_legend(canvas: _Canvas, required_mm: float) -> None:
    size = 1.4 * _TEXT_PIXELS * canvas.unit
    steps = clearance_legend(required_mm)
    width, height = 9.5 * size, (1.25 * len(steps) + 1.6) * size
    _rectangle(canvas.left, canvas.bottom, canvas.left + width, canvas.bottom + height, _PANEL)
    for row, step in enumerate(steps):
        x, y = canvas.left + 0.5 * size, canvas.bottom + (0.4 + 1.25 * row) * size
        _rectangle(x, y, x + 1.5 * size, y + size, (*step.color, 1.0))
        if step.hatched:
            for stripe in range(3):
                left = x + (0.1 + 0.5 * stripe) * size
                _rectangle(left, y, left + 0.25 * size, y + size, (*BLACK, 1.0))
        _text(step.text, x + 1.9 * size, y + 0.25 * size, canvas.unit, _WHITE)
    _text("Part to tire at its largest", canvas.left + 0.5 * size, canvas.bottom + height - 0.9 * size, canvas.unit, _WHITE)


def _draw_least(context: bpy.types.Context, canvas: _Canvas, made: Readout) -> None:
    place = location_3d_to_region_2d(context.region, context.region_data, Vector(made.least_place.tolist()))
    if place is None:
        return
    reach = 7.0 * canvas.unit
    ring = np.array([[np.cos(a), np.sin(a)] for a in np.linspace(0.0, 2.0 * np.pi, 25)]) * reach + np.array(place)
    _line(ring, 4.0 * canvas.unit, (0.0, 0.0, 0.0, 1.0))
    _line(ring, 2.0 * canvas.unit, _WHITE)
    _text(made.least_text, place[0] + 1.6 * reach, place[1] - 0.4 * reach, canvas.unit, _WHITE)


def _draw_views(canvas: _Canvas, made: Readout) -> None:
    unit = canvas.unit
    right = canvas.right
    for lines, size, title in (
        (made.section.lines, _SECTION_SIZE, f"Section at station {made.section.station_deg:.0f}"),
        (made.side, _SIDE_SIZE, "Side, forward to the right"),
    ):
        width, height = size[0] * unit, size[1] * unit
        left, low = right - width, canvas.bottom
        _rectangle(left, low, right, low + height, _PANEL)
        _text(title, left + 8.0 * unit, low + height - 18.0 * unit, unit, _WHITE)
        to_screen = _fit(lines, left + 10.0 * unit, low + 10.0 * unit, width - 20.0 * unit, height - 40.0 * unit)
        for line in lines:
            if len(line.points) > 1:
                _line(to_screen(line.points), 1.6 * unit, _COLORS[line.role])
        if lines is made.section.lines:
            _draw_gaps(made, to_screen, unit)
        right = left - 0.6 * _EDGE * unit


def _draw_gaps(made: Readout, to_screen: Any, unit: float) -> None:
    for gap in made.section.gaps:
        ends = to_screen(np.stack([gap.at, gap.foot]))
        _line(ends, 1.2 * unit, _WHITE)
        middle = ends.mean(axis=0)
        _text(f"{gap.mm:.1f}", middle[0] + 4.0 * unit, middle[1] - 4.0 * unit, unit, _WHITE)


def _fit(lines: tuple[ViewLine, ...], left: float, low: float, width: float, height: float) -> Any:
    """A function from mm of a view to pixels: to scale, centered in a rectangle."""
    points = np.concatenate([line.points for line in lines if len(line.points)])
    least, size = points.min(axis=0), np.maximum(np.ptp(points, axis=0), 1e-6)
    scale = float(min(width / size[0], height / size[1]))
    start = np.array([left, low]) + 0.5 * (np.array([width, height]) - scale * size)

    def to_screen(at: Array) -> Array:
        return np.asarray(start + scale * (at - least))

    return to_screen


def _text(text: str, x: float, y: float, unit: float, color: tuple[float, float, float, float]) -> None:
    blf.size(_FONT, _TEXT_PIXELS * unit)
    blf.enable(_FONT, blf.SHADOW)
    blf.shadow(_FONT, 5, 0.0, 0.0, 0.0, 1.0)
    blf.color(_FONT, *color)
    blf.position(_FONT, float(x), float(y), 0.0)
    blf.draw(_FONT, text)
    blf.disable(_FONT, blf.SHADOW)


def _rectangle(left: float, low: float, right: float, high: float, color: tuple[float, ...]) -> None:
    shader = gpu.shader.from_builtin("UNIFORM_COLOR")
    corners = ((left, low), (right, low), (right, high), (left, high))
    batch = batch_for_shader(shader, "TRIS", {"pos": corners}, indices=((0, 1, 2), (0, 2, 3)))
    shader.uniform_float("color", color)
    batch.draw(shader)


def _line(points: Array, width: float, color: tuple[float, ...]) -> None:
    shader = gpu.shader.from_builtin("POLYLINE_UNIFORM_COLOR")
    flat = [(float(x), float(y), 0.0) for x, y in points]
    batch = batch_for_shader(shader, "LINE_STRIP", {"pos": flat})
    _, _, width_px, height_px = _STATE.viewport_get()
    shader.uniform_float("viewportSize", (width_px, height_px))
    shader.uniform_float("lineWidth", width)
    shader.uniform_float("color", color)
    batch.draw(shader)


def register() -> None:
    _DRAWN.handle = bpy.types.SpaceView3D.draw_handler_add(_draw, (), "WINDOW", "POST_PIXEL")


def unregister() -> None:
    global _DRAWN
    bpy.types.SpaceView3D.draw_handler_remove(_DRAWN.handle, "WINDOW")
    _DRAWN = _Drawn()
