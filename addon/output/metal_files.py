# SPDX-License-Identifier: GPL-3.0-or-later
"""Buck, templates and flat crown as files to cut by: PDF on paper, SVG and DXF for machines."""

from __future__ import annotations

from pathlib import Path

from ..core.drawing.flat_part import part_drawing
from ..core.drawing.laid_out import laid_out
from ..core.job.job_sheet import Job
from ..core.metal.metal_part import MetalPart, metal_lines
from .dxf_file import DxfUnavailableError, write_dxf
from .pages.paper import PAPERS, write_paper
from .svg_file import write_svg

ROW_MM = 1200.0
"""Parts lie in rows of this width, about that of a board as sold; our choice."""
_SCALE_NOTE = "Check the 100 mm bar with a rule before you trust the paper; print at 100 %, never fitted to the page."


def write_metal(folder: Path, job: Job, part: MetalPart, date: str) -> tuple[str, ...]:
    """Write buck.* and templates.* into a folder, which is made; returns cautions.

    Both as PDF for A4 and Letter, a part a page or tiled, and all parts side by side as SVG and DXF; 1:1 all of them, mm.
    Where the library that writes DXF is missing there is none, and a caution says so. Raises OSError if a file cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    cautions: list[str] = []
    for name, parts in (("buck", part.boards), ("templates", part.templates)):
        for paper in PAPERS:
            path = folder / f"{name}_{paper}.pdf"
            write_paper(
                path, [part_drawing(each) for each in parts], f"{job.name}, {date}", (_SCALE_NOTE, *metal_lines(job, part)), paper
            )
        placed = laid_out(parts, ROW_MM)
        write_svg(folder / f"{name}.svg", placed, f"{job.name}, {name}, {date}")
        try:
            write_dxf(folder / f"{name}.dxf", placed)
        except DxfUnavailableError as error:
            cautions.append(f"There is no {name}.dxf: {error}.")
    return tuple(cautions)
