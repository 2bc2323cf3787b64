# SPDX-License-Identifier: GPL-3.0-or-later
"""All files of a finished job, written at once or not at all."""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from ..core.base.errors import JobError, ShapeError
from ..core.coverage.coverage import coverage_cautions, coverage_report
from ..core.lines.lines_report import lines_report
from ..core.metal.metal_part import metal_report
from ..core.pieces.edge_words import COVERED, bore_words, joint_words
from ..core.printing.print_report import print_cautions, print_report
from ..core.report.report import LimitProof, PieceReport, job_report
from ..core.stiffness.stiffness_report import stiffness_cautions, stiffness_report
from ..core.tables.materials import DENSITY
from ..pipeline.job_result import JobResult, Timings, placements
from ..pipeline.job_stiffness import job_stiffness_steps
from ..pipeline.steps import Steps, run_steps
from .atomic_output import atomic_output
from .former_report import REPORT, changes_since
from .gauge_files import write_gauges
from .laminate_files import write_laminate
from .metal_files import write_metal
from .pages.build_sheet import build_sheet_steps
from .ply_file import write_ply
from .stl_file import write_stl
from .three_mf_file import PrintPart, ThreeMfUnavailableError, write_three_mf

DrawPictures = Callable[[JobResult, Path], Iterator[str]]
"""Draws the pictures of a finished job into a folder, clearance.png among them; says what is done next."""
SaveBlend = Callable[[Path], None]
"""Writes the .blend of the job to a path."""

FORMER = (
    "fender.stl",
    "fender_*.stl",
    "fender.3mf",
    "fender.ply",
    "fender.blend",
    "clearance.png",
    "pieces.png",
    "wall.png",
    "build_sheet.pdf",
    REPORT,
    "gauges/*",
    "laminate/*",
    "metal/*",
)
"""Files of a former run that must not stand beside those of a new one."""


def write_job_files(
    result: JobResult, folder: Path, timings: Timings, draw_pictures: DrawPictures, save_blend: SaveBlend | None = None
) -> dict[str, Any]:
    """Write all files of a job into a folder, at once; see file_steps."""
    return run_steps(file_steps(result, folder, timings, draw_pictures, save_blend))


def file_steps(
    result: JobResult, folder: Path, timings: Timings, draw_pictures: DrawPictures, save_blend: SaveBlend | None = None
) -> Steps[dict[str, Any]]:
    """Write pieces, 3MF, PLY, picture, .blend and report into a folder; returns the report.

    STL and PLY are in wheel axes, the 3MF in print position. Where lib3mf is missing there is no 3MF, and a caution says why.
    Raises OSError if something cannot be written; the folder is then as it was, also if the steps are canceled.
    """
    remarks = _remarks(result)
    with atomic_output(folder, FORMER) as new:
        with timings.step("files", "Halves as STL and 3MF, clearance as PLY") as said:
            yield said
            pieces = _write_pieces(result, new, remarks)
            whole = result.finished.whole
            write_ply(new / "fender.ply", whole, result.envelope.body.distance(whole.vertices))
        timings.seconds["sheet_to_halves"] = sum(timings.seconds.values())  # gauges, pictures and papers are beside it
        laminate = None
        if result.laminated is not None and result.job.laminate is not None:
            with timings.step("laminate_files", "Plug or buck of the laminate") as said:
                yield said
                date = datetime.date.today().isoformat()
                laminate = write_laminate(result.job, result.job.laminate, result.laminated, new / "laminate", date)
                remarks += result.laminated.remarks
        with timings.step("gauges", "Gauges that prove the numbers, to print and on paper") as said:
            yield said
            remarks += _write_gauges(result, new / "gauges")
        with timings.step("picture", "Picture of the clearance map") as said:
            yield said
            yield from draw_pictures(result, new)
        if result.metal is not None:
            with timings.step("metal_files", "Buck and templates for sheet metal") as said:
                yield said
                remarks += write_metal(new / "metal", result.job, result.metal, datetime.date.today().isoformat())
        with timings.step("coverage", "Coverage and spray") as said:
            yield said
            remarks += coverage_cautions(result.coverage)
        with timings.step("stiffness", "How stiff the fender is") as said:
            yield said
            stiffness = yield from job_stiffness_steps(result)
            remarks += stiffness_cautions(result.job, stiffness)
        if save_blend is not None:
            with timings.step("blend", "Scene with cage and envelope") as said:
                yield said
                save_blend(new / "fender.blend")
        report = job_report(
            result.job,
            result.envelope.profile,
            result.tire,
            (*result.limits, *_hardware_proofs(result)),
            result.finished.wall,
            result.finished.rim,
            pieces,
            remarks,
            timings.seconds,
        )
        finished = result.finished
        report["edges"] |= {
            "least_radius_covers": COVERED,
            "bores": list(bore_words(finished.seats, finished.mouth_breaks)),
            "joint": joint_words(finished.joint),
        }
        report["joint"] = {"pins": len(finished.pins), "keys": finished.keys}
        report["print"] = print_report(result.job, result.plans)
        if laminate is not None:
            report["laminate"] = laminate
        report["bike_lines"] = lines_report(result.lines)
        report["coverage"] = coverage_report(result.coverage)
        if result.metal is not None:
            report["metal"] = metal_report(result.job, result.metal)
        report["stiffness"] = stiffness_report(result.job, stiffness)
        report["changes"] = changes_since(folder, report)
        with timings.step("build_sheet", "Build sheet") as said:
            yield said
            date = datetime.date.today().isoformat()
            yield from build_sheet_steps(new / "build_sheet.pdf", result, stiffness, report, new / "clearance.png", date)
        report["timings_s"]["build_sheet"] = round(timings.seconds["build_sheet"], 3)
        (new / REPORT).write_text(json.dumps(report, indent=1) + "\n", encoding="utf-8")
    return report


def _hardware_proofs(result: JobResult) -> list[LimitProof]:
    return [
        LimitProof(each.name, each.limit.required_mm, each.proof, each.hardware.key, each.hardware.bolt, each.pose)
        for each in result.hardware
    ]


def _write_gauges(result: JobResult, folder: Path) -> list[str]:
    """Write the gauges; where they cannot be made of this job, the sentence why: the halves do not hang on them."""
    try:
        return list(write_gauges(result.job, result.skin, folder).cautions)
    except (JobError, ShapeError) as error:
        return [f"There are no gauges: {error}"]


def file_name(part_name: str) -> str:
    """Name of the STL of a piece."""
    return "fender.stl" if part_name == "whole" else f"fender_{part_name}.stl"


def _write_pieces(result: JobResult, folder: Path, remarks: list[str]) -> list[PieceReport]:
    for part in result.finished.parts:
        write_stl(folder / file_name(part.name), part.mesh)
    printed = [
        PrintPart(f"{result.job.name} {part.name}", part.mesh, placement)
        for part, placement in zip(result.finished.parts, placements(result), strict=True)
    ]
    try:
        write_three_mf(folder / "fender.3mf", printed)
    except ThreeMfUnavailableError as error:
        remarks.append(f"There is no fender.3mf: {error}")
    density = DENSITY[result.job.printer.material][0]
    return [
        PieceReport(
            file=file_name(part.name),
            closed=part.mesh.is_closed,
            volume_mm3=part.mesh.volume,
            size_mm=np.ptp(part.mesh.bounds, axis=0),
            print_size_mm=fit.size,
            fits_bed=fit.fits,
            mass_g=part.mesh.volume * density / 1000.0,
        )
        for part, fit in zip(result.finished.parts, result.fits, strict=True)
    ]


def _remarks(result: JobResult) -> list[str]:
    bed = " x ".join(f"{value:g}" for value in result.job.printer.bed)
    moved = [
        f"The cage was moved by up to {result.nudged_mm:.2f} mm, so that the skin is clear between the places it is shaped at."
    ]
    unfit = [
        f"The {plan.piece} piece does not fit the bed of {bed} mm with a margin of {result.job.printer.margin:g}, printed "
        f"{plan.option.name}: it takes {' x '.join(f'{value:.0f}' for value in plan.option.fit.size)} mm"
        + ('; split.pieces = "auto" cuts it again.' if result.job.split.pieces == "two" and result.finished.joint else ".")
        for plan in result.plans
        if not plan.option.fit.fits
    ]
    return [*(moved if result.nudged_mm > 0.0 else []), *unfit, *result.remarks, *print_cautions(result.job, result.plans)]
