# SPDX-License-Identifier: GPL-3.0-or-later
"""The drawing of a reading, put on a canvas."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

import numpy as np

from ...core.base.arrays import Array
from ...core.drawing.drawing import Drawing
from ..draw.canvas import PALE, PANEL, WHITE, Canvas, Color

_MEASURED: Color = (0.94, 0.89, 0.26, 1.0)
"""Yellow of the set of Okabe and Ito (2008)."""
_BACK: Color = (*PANEL[:3], 0.9)
_PAD = 10.0
_PIXELS_PER_MM = 3.0
"""Of line width: a drawing's lines are made for paper, a screen wants them wider."""
_LEAST_LINE = 1.2


def put_drawing(
    canvas: Canvas, right: float, top: float, size: tuple[float, float], drawing: Drawing, beneath: Iterable[str]
) -> None:
    """A panel of a size in pixels with its right upper corner at (right, top): title, drawing, its notes and further sentences.

    What is measured is drawn in yellow; names stand where the drawing has them.
    """
    pad, height = _PAD * canvas.unit, canvas.line_height
    left, low = right - size[0], top - size[1]
    canvas.rectangle(left, low, right, top, _BACK)
    canvas.text(drawing.title, left + pad, top - pad - 0.75 * height, WHITE)
    lines = [line for note in (*drawing.notes, *beneath) for line in _wrapped(canvas, note, size[0] - 2.0 * pad)]
    for number, line in enumerate(reversed(lines)):
        canvas.text(line, left + pad, low + pad + number * height, PALE)
    foot = low + 1.8 * pad + len(lines) * height
    frame = (left + pad, foot, size[0] - 2.0 * pad, top - 2.0 * pad - height - foot)
    _put_lines(canvas, drawing, frame)


def _put_lines(canvas: Canvas, drawing: Drawing, frame: tuple[float, float, float, float]) -> None:
    """The strokes and names to scale, in a frame (left, low, width, height); names keep inside of it."""
    least, most = drawing.bounds
    room = np.array(frame[2:])
    if (room <= 0.0).any():
        return
    scale = float((room / np.maximum(most - least, 1e-6)).min())
    start = np.array(frame[:2]) + 0.5 * (room - scale * (most - least)) - scale * least
    for measured in (False, True):  # what is measured lies over the rest
        for stroke in drawing.strokes:
            if stroke.measured is measured:
                width = max(_PIXELS_PER_MM * stroke.width, _LEAST_LINE) * canvas.unit
                color = _MEASURED if measured else PALE
                points: Array = start + scale * stroke.points
                if stroke.dashed:
                    canvas.dashed(points, width, 5.0 * canvas.unit, color)
                else:
                    canvas.line(points, width, color)
    for mark in drawing.marks:
        x, y = (start + scale * np.array(mark.at)).tolist()
        half = 0.5 * canvas.width_of(mark.text)
        x = min(max(x, frame[0] + half), frame[0] + frame[2] - half)
        y -= 0.35 * canvas.font_size
        near = 3.0 * canvas.unit
        canvas.rectangle(x - half - near, y - near, x + half + near, y + 0.8 * canvas.font_size + near, _BACK)
        canvas.text(mark.text, x, y, _MEASURED if mark.measured else PALE, "center")


def _wrapped(canvas: Canvas, sentence: str, width: float) -> list[str]:
    """The sentence in lines that are no wider than a width in pixels."""
    letters = max(len(sentence), 1)
    mean = max(canvas.width_of(sentence), 1.0) / letters
    return textwrap.wrap(sentence, max(int(0.97 * width / mean), 10))
