# SPDX-License-Identifier: GPL-3.0-or-later
"""Flat drawing over a view: areas, lines and texts in pixels are collected first, then kept as an image."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import blf
import gpu
import numpy as np
from gpu_extras.batch import batch_for_shader
from mathutils import Matrix

from ...core.base.arrays import Array

Color = tuple[float, float, float, float]
WHITE: Color = (0.95, 0.95, 0.95, 1.0)
PALE: Color = (0.72, 0.72, 0.72, 1.0)
PANEL: Color = (0.07, 0.07, 0.07, 0.78)

_FONT = 0
_FONT_PIXELS = 13.0
_LINE_SHARE = 1.45
_STATE: Any = gpu.state
_TYPES: Any = gpu.types


@dataclass(frozen=True)
class CanvasText:
    """A text with its left lower corner (x, y) in pixels."""

    text: str
    x: float
    y: float
    color: Color


class Canvas:
    """Collects what is to be drawn. Nothing here needs the graphics processor.

    unit : pixels of one unit of the interface; all lengths passed in are pixels
    """

    def __init__(self, unit: float) -> None:
        self.unit = unit
        self.font_size = _FONT_PIXELS * unit
        self.line_height = _LINE_SHARE * self.font_size
        self.areas: list[tuple[Array, Color]] = []
        self.lines: dict[float, list[tuple[Array, Color]]] = {}
        self.texts: list[CanvasText] = []

    def area(self, corners: Array, color: Color) -> None:
        """Fill a convex polygon. corners : (n, 2) float, in order"""
        fan = np.arange(1, len(corners) - 1)
        triangles = np.stack([np.zeros_like(fan), fan, fan + 1], axis=1).ravel()
        self.areas.append((np.asarray(corners, dtype=np.float64)[triangles], color))

    def rectangle(self, left: float, low: float, right: float, high: float, color: Color) -> None:
        """Fill a rectangle."""
        self.area(np.array([[left, low], [right, low], [right, high], [left, high]]), color)

    def strip(self, one: Array, other: Array, color: Color) -> None:
        """Fill between two polylines with the same number n of points, (n, 2) float each."""
        quads = np.stack([one[:-1], one[1:], other[1:], one[:-1], other[1:], other[:-1]], axis=1)
        self.areas.append((quads.reshape(-1, 2), color))

    def line(self, points: Array, width: float, color: Color) -> None:
        """Draw a polyline. points : (n, 2) float, n >= 2"""
        ends = np.stack([points[:-1], points[1:]], axis=1).reshape(-1, 2)
        self.lines.setdefault(width, []).append((ends, color))

    def dashed(self, points: Array, width: float, dash: float, color: Color) -> None:
        """Draw a polyline in dashes of a length, with gaps as long."""
        way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
        places = np.arange(0.0, way[-1], dash)
        count = len(places) // 2 * 2
        ends = np.column_stack([np.interp(places[:count], way, points[:, axis]) for axis in (0, 1)])
        self.lines.setdefault(width, []).append((ends, color))

    def text(self, text: str, x: float, y: float, color: Color, align: str = "left") -> None:
        """Write a text at its base line; align : which end of it, or its center, is at x."""
        share = {"left": 0.0, "center": 0.5, "right": 1.0}[align]
        self.texts.append(CanvasText(text, x - share * self.width_of(text) if share else x, y, color))

    def width_of(self, text: str) -> float:
        """Pixels that a text takes."""
        blf.size(_FONT, self.font_size)
        return float(blf.dimensions(_FONT, text)[0])

    def bounds(self) -> tuple[float, float, float, float]:
        """Whole pixels (left, low, right, high) around all areas and lines; texts stand on areas. Zeros if there is nothing."""
        parts = [points for points, _ in self.areas] + [points for lines in self.lines.values() for points, _ in lines]
        if not parts:
            return 0.0, 0.0, 0.0, 0.0
        points = np.concatenate(parts)
        margin = max(self.lines, default=0.0)
        left, low = np.floor(points.min(axis=0) - margin).tolist()
        right, high = np.ceil(points.max(axis=0) + margin).tolist()
        return left, low, right, high


class CanvasPicture:
    """A canvas as an image on the graphics processor: a redraw in which nothing has changed is one rectangle.

    Drawing each text anew takes most of the time of a redraw.
    """

    def __init__(self) -> None:
        self._image: Any = None
        self._target: Any = None
        self._shader: Any = gpu.shader.from_builtin("IMAGE")
        self._batch: Any = None

    def show(self, canvas: Canvas) -> None:
        """Take up what a canvas has collected, in place of what was there; for drawing handlers only."""
        left, low, right, high = canvas.bounds()
        width, height = int(right - left), int(high - low)
        self._batch = None
        if width <= 0 or height <= 0:
            return
        if self._image is None or (self._image.width, self._image.height) != (width, height):
            self._image = _TYPES.GPUTexture((width, height), format="RGBA8")
            self._target = _TYPES.GPUFrameBuffer(color_slots=self._image)
        stack: Any = gpu.matrix
        with self._target.bind():
            self._target.viewport_set(0, 0, width, height)
            self._target.clear(color=(0.0, 0.0, 0.0, 0.0))
            with stack.push_pop(), stack.push_pop_projection():
                stack.load_matrix(Matrix.Translation((-left, -low, 0.0)))
                stack.load_projection_matrix(_pixels_to_screen(width, height))
                _draw_canvas(canvas, (width, height))
        corners = ((left, low), (right, low), (left, high), (right, high))
        content: dict[str, Any] = {"pos": corners, "texCoord": ((0, 0), (1, 0), (0, 1), (1, 1))}
        self._batch = batch_for_shader(self._shader, "TRI_STRIP", content)

    def draw(self) -> None:
        """Draw the image; the host's blending is left as it was."""
        if self._batch is None:
            return
        blend = _STATE.blend_get()
        _STATE.blend_set("ALPHA_PREMULT")
        try:
            self._shader.bind()
            self._shader.uniform_sampler("image", self._image)
            self._batch.draw(self._shader)
        finally:
            _STATE.blend_set(blend)


def _pixels_to_screen(width: int, height: int) -> Matrix:
    return Matrix(((2.0 / width, 0.0, 0.0, -1.0), (0.0, 2.0 / height, 0.0, -1.0), (0.0, 0.0, -1.0, 0.0), (0.0, 0.0, 0.0, 1.0)))


def _draw_canvas(canvas: Canvas, size: tuple[int, int]) -> None:
    """Areas, then lines, then texts."""
    blend = _STATE.blend_get()
    _STATE.blend_set("ALPHA")
    try:
        area_shader = gpu.shader.from_builtin("SMOOTH_COLOR")
        if canvas.areas:
            _batch(area_shader, "TRIS", canvas.areas).draw(area_shader)
        line_shader: Any = gpu.shader.from_builtin("POLYLINE_SMOOTH_COLOR")
        for width, lines in canvas.lines.items():
            batch = _batch(line_shader, "LINES", lines)
            line_shader.bind()
            line_shader.uniform_float("viewportSize", size)
            line_shader.uniform_float("lineWidth", width)
            batch.draw(line_shader)
        blf.size(_FONT, canvas.font_size)
        for text in canvas.texts:
            blf.color(_FONT, *text.color)
            blf.position(_FONT, text.x, text.y, 0.0)
            blf.draw(_FONT, text.text)
    finally:
        _STATE.blend_set(blend)


def _batch(shader: Any, kind: Any, parts: list[tuple[Array, Color]]) -> Any:
    """One batch of all parts, each in its color."""
    points = np.concatenate([points for points, _ in parts])
    flat = np.column_stack([points, np.zeros(len(points))]).astype(np.float32)
    colors = np.concatenate([np.tile(np.array(color, np.float32), (len(points), 1)) for points, color in parts])
    content: dict[str, Any] = {"pos": flat, "color": colors}
    return batch_for_shader(shader, kind, content)
