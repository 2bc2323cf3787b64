# SPDX-License-Identifier: GPL-3.0-or-later
"""Legend, readout, section and side view, put on a canvas."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import numpy as np

from ...core.base.arrays import Array
from ...core.colors.clearance_map import LegendStep
from ...core.tables.clearance_map import BLACK, VERMILLION
from ...core.views.section_view import SectionView
from ...core.views.view_lines import Gap, Role, ViewLine
from ..draw.canvas import PALE, PANEL, WHITE, Canvas, Color

WARNING: Color = (1.0, 0.53, 0.16, 1.0)
"""Vermillion of the map, lighter, so that it can be read on a dark panel."""

_LINES: dict[Role, tuple[Color, float]] = {
    Role.TIRE: ((0.62, 0.62, 0.62, 1.0), 1.5),
    Role.ENVELOPE: ((0.95, 0.95, 0.95, 1.0), 1.5),
    Role.REQUIRED: ((*VERMILLION, 1.0), 1.8),
    Role.OUTER: ((0.34, 0.71, 0.91, 1.0), 1.5),
    Role.INNER: ((0.34, 0.71, 0.91, 1.0), 1.5),
    Role.MOUNT: ((0.94, 0.89, 0.26, 1.0), 2.5),
    Role.STATION: ((0.72, 0.72, 0.72, 0.9), 1.2),
}
"""Color and width in units; blue and yellow are of the set of Okabe and Ito (2008), as the vermillion is."""
_RUBBER: Color = (0.2, 0.2, 0.2, 1.0)
_WALL: Color = (0.34, 0.71, 0.91, 0.55)
_KEY = (Role.REQUIRED, Role.ENVELOPE, Role.TIRE)
_BARS_MM = (5.0, 10.0, 20.0, 50.0, 100.0)
_PAD = 9.0


def put_rows(canvas: Canvas, left: float, top: float, rows: Iterable[tuple[str, str]], warning: bool) -> float:
    """A panel of labels and values with its left upper corner at (left, top); the first row is warned of. Returns its right."""
    rows = tuple(rows)
    pad, height = _PAD * canvas.unit, canvas.line_height
    labels = max(canvas.width_of(label) for label, _ in rows)
    values = max(canvas.width_of(value) for _, value in rows)
    right = left + labels + values + 3.5 * pad
    canvas.rectangle(left, top - len(rows) * height - 1.4 * pad, right, top, PANEL)
    for row, (label, value) in enumerate(rows):
        y = top - pad - (row + 0.75) * height
        canvas.text(label, left + pad, y, PALE)
        canvas.text(value, left + labels + 2.5 * pad, y, WARNING if warning and row == 0 else WHITE)
    return right


def put_legend(canvas: Canvas, left: float, low: float, steps: Sequence[LegendStep], title: Sequence[str]) -> float:
    """The colors and what they mean, with the left lower corner at (left, low). Returns its right."""
    pad, height = _PAD * canvas.unit, 1.05 * canvas.line_height
    swatch = 1.3 * height
    wide = max(swatch + 0.8 * pad + max(canvas.width_of(step.text) for step in steps), *map(canvas.width_of, title))
    right = left + wide + 2.0 * pad
    top = low + (len(steps) + len(title)) * height + 2.4 * pad
    canvas.rectangle(left, low, right, top, PANEL)
    for row, text in enumerate(title):
        canvas.text(text, left + pad, top - pad - (row + 0.75) * height, PALE)
    for row, step in enumerate(steps):
        x, y = left + pad, low + pad + row * height
        canvas.rectangle(x, y, x + swatch, y + height, (*step.color, 1.0))
        if step.hatched:
            _hatch(canvas, x, y, swatch, height)
        canvas.text(step.text, x + swatch + 0.8 * pad, y + 0.28 * height, WHITE)
    return right


def _hatch(canvas: Canvas, x: float, y: float, width: float, height: float) -> None:
    """Stripes as on the map, inside a rectangle."""
    stripes = 3
    run = (width - 0.4 * height) / stripes
    for stripe in range(stripes):
        start = x + (stripe + 0.15) * run
        corners = [
            [start, y],
            [start + 0.45 * run, y],
            [start + 0.45 * run + 0.4 * height, y + height],
            [start + 0.4 * height, y + height],
        ]
        canvas.area(np.array(corners), (*BLACK, 1.0))


def put_section(canvas: Canvas, right: float, low: float, size: tuple[float, float], view: SectionView) -> None:
    """The section to scale, with the right lower corner of its panel at (right, low); size in pixels."""
    left, top = right - size[0], low + size[1]
    canvas.rectangle(left, low, right, top, PANEL)
    unit, pad, height = canvas.unit, _PAD * canvas.unit, canvas.line_height
    canvas.text(f"Section at {view.station_deg:.0f}°", left + pad, top - height, WHITE)
    frame = (left + 1.4 * pad, low + 1.6 * height, size[0] - 2.8 * pad, size[1] - 3.1 * height)
    to_screen, scale = _fit([line.points for line in view.lines], frame)
    _put_walls(canvas, view.lines, to_screen)
    for line in view.lines:
        if line.role is Role.TIRE:
            canvas.area(to_screen(line.points), _RUBBER)
    _put_lines(canvas, view.lines, to_screen)
    for gap in view.gaps:
        _put_gap(canvas, gap, to_screen)
    if not view.reached:
        canvas.text("no fender here", 0.5 * (left + right), low + 0.5 * size[1], PALE, "center")
    _put_scale(canvas, right - pad, top - 0.95 * height, scale)
    x = right - pad
    for role in _KEY:
        canvas.text(role.value, x, low + 0.5 * height, _LINES[role][0], "right")
        x -= canvas.width_of(role.value) + 12.0 * unit


def put_side(canvas: Canvas, right: float, low: float, size: tuple[float, float], lines: tuple[ViewLine, ...]) -> None:
    """The side view to scale, as put_section."""
    left, top = right - size[0], low + size[1]
    canvas.rectangle(left, low, right, top, PANEL)
    pad, height = _PAD * canvas.unit, canvas.line_height
    canvas.text("Center Plane", left + pad, top - height, WHITE)
    to_screen, _ = _fit(
        [line.points for line in lines], (left + pad, low + 1.6 * height, size[0] - 2.0 * pad, size[1] - 3.1 * height)
    )
    canvas.area(to_screen(lines[0].points), _RUBBER)
    _put_walls(canvas, lines, to_screen)
    _put_lines(canvas, lines, to_screen)
    canvas.text("rear", left + pad, low + 0.5 * height, PALE)
    canvas.text("front", right - pad, low + 0.5 * height, PALE, "right")


def put_mark(canvas: Canvas, place: Array, *lines: str) -> None:
    """A ring about a place (2,) in pixels, with lines of text beside it."""
    unit = canvas.unit
    around = np.linspace(0.0, 2.0 * np.pi, 25)
    ring = np.column_stack([np.cos(around), np.sin(around)]) * 7.0 * unit + place
    canvas.line(ring, 4.5 * unit, (*BLACK, 1.0))
    canvas.line(ring, 2.0 * unit, WHITE)
    put_note(canvas, place + np.array([14.0, -5.0]) * unit, lines)


def put_note(canvas: Canvas, at: Array, lines: tuple[str, ...]) -> None:
    """A few lines on a small panel, the first one at a place (2,) in pixels."""
    pad, height = 0.5 * _PAD * canvas.unit, canvas.line_height
    wide = max(canvas.width_of(line) for line in lines)
    top = at[1] + height
    canvas.rectangle(at[0] - pad, top - len(lines) * height - pad, at[0] + wide + pad, top, PANEL)
    for row, line in enumerate(lines):
        canvas.text(line, at[0], at[1] - row * height, WHITE)


def _put_walls(canvas: Canvas, lines: Iterable[ViewLine], to_screen: Callable[[Array], Array]) -> None:
    """Fill between each outer face and its inner one."""
    outer = [line.points for line in lines if line.role is Role.OUTER]
    inner = [line.points for line in lines if line.role is Role.INNER]
    for one, other in zip(outer, inner, strict=False):
        share = np.linspace(0.0, 1.0, max(len(one), len(other)))
        canvas.strip(to_screen(_along(one, share)), to_screen(_along(other, share)), _WALL)


def _along(line: Array, share: Array) -> Array:
    """Points at shares of a polyline's length."""
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    return np.column_stack([np.interp(share * way[-1], way, line[:, axis]) for axis in (0, 1)])


def _put_lines(canvas: Canvas, lines: Iterable[ViewLine], to_screen: Callable[[Array], Array]) -> None:
    for line in lines:
        color, width = _LINES[line.role]
        if len(line.points) < 2:
            continue
        if line.role is Role.REQUIRED:
            canvas.dashed(to_screen(line.points), width * canvas.unit, 5.0 * canvas.unit, color)
        else:
            canvas.line(to_screen(line.points), width * canvas.unit, color)


def _put_gap(canvas: Canvas, gap: Gap, to_screen: Callable[[Array], Array]) -> None:
    ends = to_screen(np.stack([gap.at, gap.foot]))
    canvas.line(ends, 1.3 * canvas.unit, WHITE)
    text = f"{gap.mm:.1f}"
    wide, high = canvas.width_of(text), canvas.font_size
    middle = ends.mean(axis=0) + np.array([7.0 * canvas.unit, -0.35 * high])
    pad = 2.0 * canvas.unit
    canvas.rectangle(middle[0] - pad, middle[1] - pad, middle[0] + wide + pad, middle[1] + 0.8 * high + pad, (*PANEL[:3], 0.9))
    canvas.text(text, middle[0], middle[1], WHITE)


def _put_scale(canvas: Canvas, right: float, low: float, scale: float) -> None:
    """A bar of whole millimeters with its length, at most 70 units, that ends at `right`."""
    length = max((mm for mm in _BARS_MM if mm * scale <= 70.0 * canvas.unit), default=_BARS_MM[0])
    text = f"{length:g} mm"
    end, tick = right - canvas.width_of(text) - 5.0 * canvas.unit, 4.0 * canvas.unit
    left = end - length * scale
    bar = np.array([[left, low + tick], [left, low], [end, low], [end, low + tick]])
    canvas.line(bar, 1.3 * canvas.unit, PALE)
    canvas.text(text, right, low, PALE, "right")


def _fit(polylines: list[Array], frame: tuple[float, float, float, float]) -> tuple[Callable[[Array], Array], float]:
    """A function from mm of a view to pixels, the same scale both ways, centered in a frame (left, low, width, height); the scale."""
    points = np.concatenate(polylines)
    least, size = points.min(axis=0), np.maximum(np.ptp(points, axis=0), 1e-6)
    room = np.array(frame[2:])
    scale = float((room / size).min())
    start = np.array(frame[:2]) + 0.5 * (room - scale * size) - scale * least
    return lambda at: np.asarray(start + scale * at), scale
