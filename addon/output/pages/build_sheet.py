# SPDX-License-Identifier: GPL-3.0-or-later
"""The build sheet: all that is needed in the workshop, on a few pages to pin to the wall."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from ...core.stiffness.stiffness_report import JobStiffness
from ...pipeline.job_result import JobResult
from ...pipeline.steps import Steps
from .pdf_page import PdfDocument
from .sheet_clearance import draw_clearance
from .sheet_cover import draw_coverage
from .sheet_fitting import draw_fitting, draw_template
from .sheet_flow import SheetFlow
from .sheet_laminate import draw_laminate
from .sheet_print import draw_print
from .sheet_sections import draw_sections
from .sheet_stiffness import draw_stiffness
from .sheet_views import draw_views, facts_table

_FOOT = "A fender that touches a wheel can lock it. Check the clearance on the bike, whatever this sheet says."


def build_sheet_steps(
    path: Path, result: JobResult, stiffness: JobStiffness, report: Mapping[str, Any], picture: Path, date: str
) -> Steps[int]:
    """Write the build sheet as PDF, A4, a step a page; returns the number of its pages.

    stiffness : of the result; report : of the same run, with "print", "stiffness" and "changes"; picture : PNG of the clearance map; date : ISO 8601
    Raises ValueError if the picture is not such a file, OSError if the sheet cannot be written.
    """
    flow = SheetFlow(PdfDocument(compress=True), result.job.name, date)
    pages: tuple[tuple[str, Callable[[], None]], ...] = (
        ("Build sheet", lambda: _views(flow, result)),
        ("Sections", lambda: draw_sections(flow, result)),
        ("Clearance and budget", lambda: draw_clearance(flow, report, picture)),
        ("Printing", lambda: draw_print(flow, result, report["print"])),
        ("Bolts and fitting", lambda: draw_fitting(flow, result, report)),
        ("Coverage, spray and lines", lambda: draw_coverage(flow, result)),
        ("Stiffness", lambda: draw_stiffness(flow, stiffness, report["stiffness"])),
        ("Bolt pattern 1:1", lambda: draw_template(flow, result)),
        *_laminate_pages(flow, result, report),
    )
    for number, (title, draw) in enumerate(pages, start=1):
        yield f"Build sheet, {number} of {len(pages)}: {title}"
        flow.begin_page(title)
        draw()
    flow.finish(_FOOT)
    flow.document.write(path)
    return len(flow.document.pages)


def _laminate_pages(flow: SheetFlow, result: JobResult, report: Mapping[str, Any]) -> tuple[tuple[str, Callable[[], None]], ...]:
    laminate, laminated = result.job.laminate, result.laminated
    if laminate is None or laminated is None:
        return ()
    return (("Laminate", lambda: draw_laminate(flow, result, laminate, laminated, report)),)


def _views(flow: SheetFlow, result: JobResult) -> None:
    facts_table(flow, result.job, result)
    draw_views(flow, result)
