# SPDX-License-Identifier: GPL-3.0-or-later
"""Line drawings, dimension lines and the check bar on a page."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...core.base.arrays import Array
from ...core.drawing.drawing import Drawing
from .pdf_page import Color, PdfPage, text_width

CHECK_BAR_MM = 100.0
DASH = (2.0, 1.2)
_HEAD = 1.8


def draw_drawing(page: PdfPage, drawing: Drawing, scale: float, shift: Array) -> None:
    """Strokes and marks of a drawing, at scale x + shift on the page; marks shrink at scales under a half, to 2 mm at least."""
    for stroke in drawing.strokes:
        page.line(stroke.points * scale + shift, stroke.width, DASH if stroke.dashed else ())
    for mark in drawing.marks:
        x, y = (np.array(mark.at) * scale + shift).tolist()
        page.text(mark.text, (x, y), max(mark.height * min(scale * 2.0, 1.0), 2.0), mark.anchor)


def check_bar(page: PdfPage, x: float, y: float) -> None:
    """The bar that must measure 100 mm on paper, its left end at x, y."""
    for along in (0.0, 50.0, CHECK_BAR_MM):
        page.line(np.array([[x + along, y - 2.0], [x + along, y + 2.0]]), 0.2)
    page.line(np.array([[x, y], [x + CHECK_BAR_MM, y]]), 0.2)
    page.text(f"{CHECK_BAR_MM:g} mm", (x + CHECK_BAR_MM + 3.0, y - 1.2), 2.5)


def draw_dimension(
    page: PdfPage,
    begin: Sequence[float],
    end: Sequence[float],
    text: str,
    *,
    capital: float = 1.8,
    color: Color = (0.0, 0.0, 0.0),
) -> None:
    """A dimension between two points of the page: arrows inward on the line where there is room, else from outside, and the text
    over its middle, on a white ground, upright lines read from the right."""
    a, b = np.asarray(begin, dtype=np.float64), np.asarray(end, dtype=np.float64)
    length = float(np.hypot(*(b - a)))
    along = (b - a) / length if length > 0.0 else np.array([1.0, 0.0])
    outside = length < 3.0 * _HEAD
    line = np.array([a - 2.0 * _HEAD * along, b + 2.0 * _HEAD * along]) if outside else np.array([a, b])
    page.line(line, 0.15, color=color)
    side = np.array([-along[1], along[0]])
    for tip, way in ((a, along), (b, -along)):
        back = tip + _HEAD * (-way if outside else way)
        page.filled((np.array([tip, back + 0.25 * _HEAD * side, back - 0.25 * _HEAD * side]),), color)
    width = text_width(text, capital)
    middle = 0.5 * (a + b)
    if outside:
        middle = b + along * (2.0 * _HEAD + 1.0 + 0.5 * (width if abs(along[0]) > 0.5 else capital))
    page.rectangle(
        middle[0] - 0.5 * width - 0.5, middle[1] - 0.5 * capital - 0.5, width + 1.0, capital + 1.0, fill=(1.0, 1.0, 1.0)
    )
    page.text(text, (float(middle[0]), float(middle[1] - 0.5 * capital)), capital, "center", color=color)
