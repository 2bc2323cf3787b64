# SPDX-License-Identifier: GPL-3.0-or-later
"""Flat drawing over a view: areas, lines and texts in pixels are collected first, then kept as a few batches."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import blf
import gpu
import numpy as np
from gpu_extras.batch import batch_for_shader

from ..core.arrays import Array

Color = tuple[float, float, float, float]

_FONT = 0
_FONT_PIXELS = 12.5
_LINE_SHARE = 1.45
_STATE: Any = gpu.state


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

    def picture(self) -> CanvasPicture:
        """What was collected, as batches."""
        return CanvasPicture(self)


class CanvasPicture:
    """A canvas on the graphics processor; drawn as often as need be."""

    def __init__(self, canvas: Canvas) -> None:
        self._texts = canvas.texts
        self._font_size = canvas.font_size
        self._area_shader = gpu.shader.from_builtin("SMOOTH_COLOR")
        self._line_shader: Any = gpu.shader.from_builtin("POLYLINE_SMOOTH_COLOR")
        self._areas = _batch(self._area_shader, "TRIS", canvas.areas)
        self._lines = [(width, _batch(self._line_shader, "LINES", lines)) for width, lines in canvas.lines.items()]

    def draw(self) -> None:
        """Draw areas, then lines, then texts; the host's blending is left as it was."""
        blend = _STATE.blend_get()
        _STATE.blend_set("ALPHA")
        try:
            if self._areas is not None:
                self._areas.draw(self._area_shader)
            self._draw_lines()
        finally:
            _STATE.blend_set(blend)
        blf.size(_FONT, self._font_size)
        for text in self._texts:
            blf.color(_FONT, *text.color)
            blf.position(_FONT, text.x, text.y, 0.0)
            blf.draw(_FONT, text.text)

    def _draw_lines(self) -> None:
        if not self._lines:
            return
        self._line_shader.bind()
        self._line_shader.uniform_float("viewportSize", _STATE.viewport_get()[2:])
        for width, batch in self._lines:
            self._line_shader.uniform_float("lineWidth", width)
            batch.draw(self._line_shader)


def _batch(shader: Any, kind: Any, parts: list[tuple[Array, Color]]) -> Any:
    """One batch of all parts, each in its color; None if there is none."""
    if not parts:
        return None
    points = np.concatenate([points for points, _ in parts])
    flat = np.column_stack([points, np.zeros(len(points))]).astype(np.float32)
    colors = np.concatenate([np.tile(np.array(color, np.float32), (len(points), 1)) for points, color in parts])
    return batch_for_shader(shader, kind, {"pos": flat, "color": colors})
