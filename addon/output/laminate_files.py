# SPDX-License-Identifier: GPL-3.0-or-later
"""The files of a laminate: plug, buck or mold in pieces, and the part itself for measuring."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from ..core.cloth.ply_patterns import PlyPatterns, pattern_parts, patterns_report
from ..core.drawing.flat_part import part_drawing
from ..core.drawing.laid_out import laid_out
from ..core.job.job_sheet import Job, Laminate
from ..core.laminate.bolt_sleeves import bolt_sleeves
from ..core.laminate.laminate_report import laminate_report
from ..core.laminate.mold_drafts import draft_report
from ..core.laminate.mold_shape import part_shrink
from ..core.tables.materials import DENSITY
from ..pipeline.laminated import Laminated
from .pages.paper import PAPERS, write_paper
from .stl_file import write_stl
from .svg_file import write_svg

PART = "part.stl"
_ROW_MM = 1000.0
"""Patterns lie in rows of this width, that of many rolls of cloth (common practice)."""
_SCALE_NOTE = "Check the 100 mm bar with a rule before you trust the paper; print at 100 %, never fitted to the page."


def write_laminate(job: Job, laminate: Laminate, laminated: Laminated, folder: Path, date: str) -> dict[str, Any]:
    """Write the files into a new folder, wheel axes, mm; returns the report's part on the laminate. Raises OSError.

    date : ISO 8601, which the patterns carry
    """
    folder.mkdir()
    write_stl(folder / PART, laminated.part.wall.mesh)
    density = DENSITY[job.printer.material][0]
    pieces = []
    for solid in laminated.solids:
        mesh = solid.part.mesh
        write_stl(folder / f"{solid.part.name}.stl", mesh)
        pieces.append(
            {
                "file": f"{folder.name}/{solid.part.name}.stl",
                "body": solid.body,
                "closed": mesh.is_closed,
                "volume_mm3": round(mesh.volume, 1),
                "size_mm": [round(float(value), 2) for value in np.ptp(mesh.bounds, axis=0)],
                "print_size_mm": [round(float(value), 2) for value in solid.fit.size],
                "fits_bed": solid.fit.fits,
                "mass_g": round(mesh.volume * density / 1000.0, 1),
            }
        )
    tire = laminated.tire
    patterns = {}
    if laminated.patterns is not None:
        _write_patterns(folder, job, laminate, laminated.patterns, date)
        patterns = {"patterns": patterns_report(laminated.patterns, laminate)}
    return {
        **laminate_report(laminate, laminated.schedule, tire.proof, tire.required_mm),
        "draft": draft_report(laminated.drafts, laminate),
        "shrink": round(part_shrink(laminate), 5),
        "edge": {"kind": laminate.edge, "size_mm": laminate.edge_size if laminate.edge == "return" else None},
        "sleeves": [asdict(each) for each in bolt_sleeves(job, laminated.schedule.thickness)],
        "part_file": f"{folder.name}/{PART}",
        "pieces": pieces,
        **patterns,
    }


def _write_patterns(folder: Path, job: Job, laminate: Laminate, patterns: PlyPatterns, date: str) -> None:
    """plies_A4.pdf, plies_Letter.pdf and plies.svg, 1:1."""
    parts = pattern_parts(patterns, laminate)
    for paper in PAPERS:
        write_paper(
            folder / f"plies_{paper}.pdf", [part_drawing(part) for part in parts], f"{job.name}, {date}", (_SCALE_NOTE,), paper
        )
    write_svg(folder / "plies.svg", laid_out(parts, _ROW_MM), f"{job.name}, plies, {date}")
