# SPDX-License-Identifier: GPL-3.0-or-later
"""The clearance map, the budget with its sums, the limits, and what changed, on the build sheet."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from .sheet_flow import MARGIN, WIDTH, Column, SheetFlow


def draw_clearance(flow: SheetFlow, report: Mapping[str, Any], picture: Path) -> None:
    """Map, budget and limits, as the report and the picture of the same run have them."""
    image = flow.document.add_png(picture)
    bottom = flow.room(WIDTH / image.aspect)
    flow.page.image(image, MARGIN, bottom, WIDTH)
    flow.heading("Budget: what is kept free, and why", 20.0)
    sums = report["budget_sum"]
    rows = [(line["name"], f"{line['mm']:.2f}", line["direction"], line["basis"], line["note"]) for line in report["budget"]]
    rows += [
        ("sum at the crown", f"{sums['worst_case_mm']:.2f}", "radial", f"used: {sums['used']}", "from the tire as it stands to the skin"),
        ("the same by squares", f"{sums['root_sum_square_mm']:.2f}", "radial", "the same sum", "independent lines added by squares"),
        ("sum at the sides", f"{sums['lateral_worst_case_mm']:.2f}", "lateral", f"used: {sums['used']}", "from the tire's side to the skin"),
    ]  # fmt: skip
    columns = (
        Column("allowance", 36.0),
        Column("mm", 14.0, "right"),
        Column("where", 16.0),
        Column("basis", 27.0),
        Column("note", 89.0),
    )
    flow.table(columns, rows, bold_from=len(rows) - 3)
    flow.paragraph(
        f"Kept between the part and the tire at its largest: {sums['required_worst_mm']:.1f} mm with all added, "
        f"{sums['required_squares_mm']:.1f} mm by squares; used: {sums['used']}."
    )
    if sums["options"]:
        flow.heading("What could be spent, and what it costs", 12.0)
        flow.bullets([f"{option['saves_mm']:.1f} mm by {option['name']}: {option['price']}." for option in sums["options"]])
    flow.heading("Limits: least distance of all pieces, measured on their triangles", 16.0)
    limits = [
        (
            limit["name"],
            f"{limit['required_mm']:.2f}",
            _figure(limit["min_mm"]),
            _figure(limit["proven_min_mm"]),
            f"{round(limit['at']['station_deg']):+d} deg, x {limit['at']['x_mm']:+.0f} mm" + _pose(limit),
        )
        for limit in report["clearance"]["limits"]
    ]
    columns = (
        Column("from", 62.0),
        Column("required mm", 20.0, "right"),
        Column("least mm", 18.0, "right"),
        Column("proven over mm", 24.0, "right"),
        Column("at", 58.0),
    )
    flow.table(columns, limits)
    if report["changes"]:
        flow.heading("Changed since the last written version", 12.0)
        flow.bullets(report["changes"])


def _pose(limit: Mapping[str, Any]) -> str:
    return f", {limit['pose']['words']}" if "pose" in limit else ""


def _figure(mm: float) -> str:
    """Two digits, without a sign before zero."""
    return f"{round(mm, 2) + 0.0:.2f}"
