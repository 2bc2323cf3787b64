# SPDX-License-Identifier: GPL-3.0-or-later
"""Sections of the finished fender with dimensions, over the tire as it stands and at its largest."""

from __future__ import annotations

import numpy as np

from ...core.base.arrays import Array
from ...core.base.wheel_axes import station_of
from ...core.drawing.drawing import circle
from ...core.seat.mount import mount_frame
from ...core.tire.tire_profile import tire_profile
from ...core.views.section_figures import SectionFigures, section_figures, section_stations
from ...core.views.section_view import wheel_section
from ...pipeline.job_result import JobResult
from .pdf_drawing import DASH, draw_dimension
from .sheet_flow import GRAY, MARGIN, SMALL, TEXT, SheetFlow
from .sheet_views import SCALES, scale_name

_FIELD = 118.0
_HIGHEST = 222.0
"""Of all sections together, with their headings and dimensions."""
_HEAD = 12.0
_ABOVE, _BELOW = 5.0, 8.0
_UNDER_CROWN = 5.0
_WALL = (0.72, 0.72, 0.72)
_RIGHT = 142.0


def draw_sections(flow: SheetFlow, result: JobResult) -> None:
    """Sections at the mount and midway to both ends, front first."""
    mount = float(station_of(mount_frame(result.job).origin))
    stations = section_stations(result.finished.whole, mount)
    figures = [section_figures(result.finished.whole, result.envelope.body, station) for station in stations]
    wide = max(one.width_mm for one in figures)
    tall = sum(one.top - _low(result, one) for one in figures)
    fixed = len(figures) * (_ABOVE + _BELOW + _HEAD)
    scale = next((s for s in SCALES if s * wide <= _FIELD - 24.0 and s * tall + fixed <= _HIGHEST), SCALES[-1])
    flow.paragraph(
        f"Scale {scale_name(scale)}, cut in the plane through the axle at a station, seen from the front: the rider's left is on "
        "the right. Gray: wall. Full thin line: tire at its largest. Dashed: tire as it stands. Dot: where the gap is least. Lengths in mm.",
    )
    for name, one in zip(("Toward the front", "At the mount", "Toward the rear"), figures, strict=True):
        _draw(flow, result, name, one, scale)


def _low(result: JobResult, one: SectionFigures) -> float:
    """Where a section ends: under the edges, or under the crown of the tire as it stands."""
    return min(one.bottom, float(tire_profile(result.job).static[0, 1]) - _UNDER_CROWN)


def _draw(flow: SheetFlow, result: JobResult, name: str, one: SectionFigures, scale: float) -> None:
    low = _low(result, one)
    height = scale * (one.top - low) + _ABOVE + _BELOW
    flow.heading(f"{name}, station {round(one.station_deg):+d} deg", height)
    bottom = flow.room(height)
    page = flow.page
    shift = np.array([MARGIN + 0.5 * _FIELD, bottom + _BELOW - scale * low])

    def put(line: Array) -> Array:
        return scale * line + shift

    with page.clipped(MARGIN, bottom + _BELOW, _FIELD + 8.0, height - _BELOW):
        wheel = wheel_section(tire_profile(result.job).static, result.envelope.body, 0.0, one.station_deg)
        for line, dash in ((wheel.envelope, ()), (wheel.tire, DASH)):
            page.line(put(line), 0.2, dash, GRAY)
        page.filled(tuple(put(line) for line in one.outlines), _WALL)
        for line in one.outlines:
            page.line(put(line), 0.3)
        page.filled((put(np.array(one.least_at)) + circle((0.0, 0.0), 0.9).points,), (0.0, 0.0, 0.0))
    half = 0.5 * scale * one.width_mm
    y = bottom + 3.5
    draw_dimension(page, (shift[0] - half, y), (shift[0] + half, y), f"{one.width_mm:.1f}")
    x = float(shift[0]) + half + 9.0
    draw_dimension(page, (x, shift[1] + scale * one.bottom), (x, shift[1] + scale * one.top), f"{one.drop_mm:.1f}")
    _gap(flow, one, scale, shift)
    _figures(flow, one, result.limits[0].required_mm, bottom + height - 7.0)


def _gap(flow: SheetFlow, one: SectionFigures, scale: float, shift: Array) -> None:
    """The gap at the crown as a dimension: from the tire at its largest to the inner face."""
    if one.crown_gap_mm is None or one.crown_rho is None:
        return
    low = shift + scale * np.array([0.0, one.crown_rho - one.crown_gap_mm])
    draw_dimension(flow.page, low.tolist(), (low + [0.0, scale * one.crown_gap_mm]).tolist(), f"{one.crown_gap_mm:.1f}")


def _figures(flow: SheetFlow, one: SectionFigures, required: float, top: float) -> None:
    rows = [
        ("width", f"{one.width_mm:.1f}"),
        ("drop of the edges", f"{one.drop_mm:.1f}"),
        ("wall at the center", "open" if one.wall_mm is None else f"{one.wall_mm:.2f}"),
        ("gap at the crown", "open" if one.crown_gap_mm is None else f"{one.crown_gap_mm:.2f}"),
        ("least gap", f"{one.least_gap_mm:.2f} at x {one.least_at[0]:+.0f}"),
        ("required", f"{required:.2f}"),
    ]
    for row, (name, figure) in enumerate(rows):
        y = top - 4.8 * row
        flow.page.text(name, (_RIGHT, y), TEXT)
        flow.page.text(figure, (196.0, y), TEXT, "right", bold=True)
    flow.page.text("gaps to the tire at its largest", (_RIGHT, top - 4.8 * len(rows)), SMALL, color=GRAY)
