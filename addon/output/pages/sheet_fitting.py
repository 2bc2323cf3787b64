# SPDX-License-Identifier: GPL-3.0-or-later
"""What to buy, how to fit, what to measure and check, and the bolt pattern at full size, on the build sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from ...core.base.errors import JobError
from ...core.base.wheel_axes import station_of
from ...core.gauges.strip_points import gauge_points, wall_section
from ...core.gauges.templates import drilling_template
from ...core.mesh.open_surface import surface_of_quads
from ...core.pieces.dowel_pins import Pin
from ...core.report.bolt_list import BoltList, bolt_list, seat_bolt_list
from ...core.report.fitting_steps import fitting_checks, fitting_steps
from ...core.seat.mount import mount_frame
from ...core.views.section_figures import section_stations
from ...pipeline.job_result import JobResult
from .pdf_drawing import check_bar, draw_drawing
from .sheet_flow import MARGIN, SMALL, TEXT, WIDTH, Column, SheetFlow

_TEMPLATE_MARGIN = 6.0
_TEMPLATE_HIGHEST = 190.0


def draw_shopping(flow: SheetFlow, result: JobResult) -> BoltList:
    """The list of screws, nuts and washers, and how the length comes about."""
    bolts = bolt_list(result.job, mount_frame(result.job), result.finished.whole)
    further = [
        (placed.name, seat_bolt_list(placed, result.finished.whole, result.job.wall.thickness))
        for placed in result.finished.seats[1:]
    ]
    rows = [*_rows(bolts, ""), *(row for name, listed in further for row in _rows(listed, f", for {name}"))]
    rows += _pin_rows(result.finished.pins)
    flow.heading("To buy", 24.0)
    flow.table((Column("count", 14.0, "right"), Column("what", 96.0), Column("standard", 72.0)), rows)
    flow.paragraph(_stack(bolts, "Length"), capital=SMALL)
    for name, listed in further:
        flow.paragraph(_stack(listed, f"Length for {name}"), capital=SMALL)
    if result.hardware:
        least = min(result.hardware, key=lambda each: each.excess_mm)
        flow.paragraph(
            f"Of heads and nuts, by their largest table sizes, the {least.hardware.name} has the least to spare: {least.proof.min_mm:.1f} "
            f"mm to the {least.limit.name}, of which {least.limit.required_mm:.1f} mm are required. Other hardware needs a new check.",
            capital=SMALL,
        )
    return bolts


def _rows(bolts: BoltList, where: str) -> list[tuple[str, str, str]]:
    (screw, standard), *others = bolts.items
    length = f"{bolts.length_mm} mm" if bolts.length_mm is not None else f"at least {bolts.least_mm:.1f} mm{_unstated(bolts)}"
    return [
        (f"{bolts.count}", f"{screw}, length {length}{where}", standard),
        *((f"{bolts.count}", f"{what}{where}", of) for what, of in others),
    ]


def _pin_rows(pins: Sequence[Pin]) -> list[tuple[str, str, str]]:
    if not pins:
        return []
    lengths = sorted({f"{pin.length:.1f}" for pin in pins}, key=float)
    long = lengths[0] if len(lengths) == 1 else f"{lengths[0]} to {lengths[-1]}"
    return [
        (f"{len(pins)}", f"dowel pin {pins[0].diameter:g} mm, cut to {long} mm, flush with the wall", "rod of metal or plastic")
    ]


def _stack(bolts: BoltList, title: str) -> str:
    stack = " + ".join(f"{name} {mm:.1f}" for name, mm in bolts.stack)
    bought = f"; the next length sold is {bolts.length_mm} mm" if bolts.length_mm is not None else ""
    return f"{title}: {stack}{_unstated(bolts)} = {bolts.least_mm:.1f} mm at least{bought}."


def _unstated(bolts: BoltList) -> str:
    return "" if bolts.plate_mm is not None else " + bracket's plate, whose thickness is not stated"


def draw_fitting(flow: SheetFlow, result: JobResult, report: Mapping[str, Any]) -> None:
    """Shopping, fitting, gaps to write down, checks and cautions."""
    bolts = draw_shopping(flow, result)
    flow.heading("Fitting", 16.0)
    flow.numbered(fitting_steps(result.job, bolts, len(result.finished.parts), len(result.finished.pins), result.finished.keys))
    _gaps(flow, result)
    flow.begin_page("Before the first ride")
    flow.checks(fitting_checks(result.job))
    flow.space(3.0)
    low = flow.room(9.0)
    for x, name, end in ((MARGIN, "checked by", 96.0), (104.0, "date", 146.0), (152.0, "km", 196.0)):
        flow.page.text(name, (x, low + 2.0), TEXT)
        flow.page.line(np.array([[x + 20.0 if name == "checked by" else x + 9.0, low + 1.0], [end, low + 1.0]]), 0.2)
    flow.heading("Cautions", 14.0)
    flow.bullets(report["cautions"], capital=1.75)


def _gaps(flow: SheetFlow, result: JobResult) -> None:
    """Expected gaps to the tire as it stands, at the named points, with room for the measured ones."""
    job, frame = result.job, mount_frame(result.job)
    sheet = surface_of_quads(result.skin.points, result.skin.normals, result.skin.quads, result.skin.paint)
    rows = []
    for station in section_stations(result.finished.whole, float(station_of(frame.origin))):
        try:
            inner, _ = wall_section(job, sheet, station)
        except JobError:
            continue
        points = {point.name: point.expected_mm for point in gauge_points(job, frame, inner, station)}
        shown = [f"{points[name]:.1f}" for name in ("R2", "R1", "C", "L1", "L2")]
        rows.append((f"{round(station):+d} deg", *[cell for figure in shown for cell in (figure, "........")]))
    if not rows:
        return
    flow.heading("Gaps to the tire as it stands, mm: expected, and measured on the bike", 26.0)
    columns = [Column("station", 22.0)]
    for name in ("right, out", "right, in", "crown", "left, in", "left, out"):
        columns += [Column(name, 16.0, "right"), Column("read", 16.0)]
    flow.table(columns, rows, least=8.0)


def draw_template(flow: SheetFlow, result: JobResult) -> None:
    """The bolt pattern at full size with the check bar; where it does not fit a page, where to find it."""
    drawing = drilling_template(result.job, mount_frame(result.job))
    low, high = drawing.bounds
    size = high - low
    height = float(size[1]) + 2.0 * _TEMPLATE_MARGIN + 20.0
    if size[0] > WIDTH or height > _TEMPLATE_HIGHEST:
        flow.paragraph(
            "The bolt pattern is larger than this page: take it from gauges/gauges_A4.pdf, where it lies on several pages."
        )
        return
    for note in drawing.notes:
        flow.paragraph(note)
    bottom = flow.room(height)
    check_bar(flow.page, MARGIN, bottom + 4.0)
    shift = np.array([MARGIN + 0.5 * WIDTH, bottom + 16.0 + _TEMPLATE_MARGIN]) - [0.5 * (low[0] + high[0]), low[1]]
    draw_drawing(flow.page, drawing, 1.0, shift)
