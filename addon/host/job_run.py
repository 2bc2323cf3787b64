# SPDX-License-Identifier: GPL-3.0-or-later
"""A whole job without a window: sheet in, files out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..core.clearance.clearance_field import ClearanceField, clearance_field
from ..core.clearance.keepout import MeshBodyMaker
from ..core.job.job_sheet import Job, read_job_sheet
from ..core.report.check_job import check_job
from ..core.shaping.seed import Seed
from ..core.skin.cage import Cage
from ..output.job_files import write_job_files
from ..pipeline.followed_seed import followed_seed
from ..pipeline.job_result import Progress, Timings, make_job
from ..pipeline.job_stiffness import with_computed_flex
from .keepouts.keepout_mesh import mesh_body_maker
from .pictures.job_pictures import draw_pictures


@dataclass(frozen=True, eq=False)
class JobRun:
    """What a run ends with: the report, and lines that a builder reads."""

    report: dict[str, Any]
    summary: tuple[str, ...]


def run_job(sheet: Path, out: Path, progress: Progress, save_scene: Callable[[Path, Job, Seed], None]) -> JobRun:
    """Read a job sheet, seed the cage, finish the fender and write its files to a folder.

    save_scene : writes a .blend with the job and its cage
    Raises JobError, CageError, ShapeError or OSError with a sentence; nothing is written then.
    """
    timings = Timings(progress)
    with timings.step("sheet", f"Job sheet {sheet.name}"):
        job = read_job_sheet(sheet)
        check_job(job)
    with timings.step("seed", "Tire, mount, envelope and a first cage"):
        mesh_body = mesh_body_maker(sheet.parent)
        field = clearance_field(job, mesh_body=mesh_body)
        seed = followed_seed(job, field)
    if job.clearance.flex is None:
        with timings.step("flex", "How far the fender gives way, which no one stated"):
            job, field, seed = _with_flex(job, field, seed, mesh_body)
    result = make_job(job, seed.cage, timings, field=field, mesh_body=mesh_body)
    report = write_job_files(result, out, timings, draw_pictures, lambda path: save_scene(path, job, seed))
    return JobRun(report, _summary(report, out))


def _with_flex(job: Job, field: ClearanceField, seed: Seed, mesh_body: MeshBodyMaker) -> tuple[Job, ClearanceField, Seed]:
    """The job with the flex of its own fender, what is to be kept clear of then, and the seed that is."""
    known = {job.computed_flex: (field, seed)}

    def cage_of(counted: Job) -> Cage:
        if counted.computed_flex not in known:
            around = clearance_field(counted, mesh_body=mesh_body)
            known[counted.computed_flex] = around, followed_seed(counted, around)
        return known[counted.computed_flex][1].cage

    job = with_computed_flex(job, cage_of, mesh_body)
    return job, *known[job.computed_flex]


def _summary(report: dict[str, Any], out: Path) -> tuple[str, ...]:
    clearance, wall = report["clearance"], report["wall"]
    at = clearance["at"]
    lines = [
        f"{report['name']}: files in {out}",
        (
            f"Clearance to the tire at its largest: {clearance['min_mm']:.2f} mm at station {at['station_deg']:.0f}, {at['x_mm']:+.0f} mm "
            f"from the center; required {clearance['required_mm']:.2f} mm; no point of the halves is under {clearance['proven_min_mm']:.2f} mm."
        ),
        *_motion_line(clearance["limits"]),
        *_hardware_line(clearance["limits"]),
        f"Wall: {wall['nominal_mm']:g} mm, measured {wall['p1_mm']:.2f} to {wall['p99_mm']:.2f} mm away from the seat.",
    ]
    for piece in report["halves"]:
        size = " x ".join(f"{value:.0f}" for value in piece["print_size_mm"])
        fits = "fits the bed" if piece["fits_bed"] else "does NOT fit the bed"
        lines.append(f"{piece['file']}: {piece['mass_g']:.0f} g, {size} mm as printed, {fits}.")
    changes = [f"- {change}" for change in report["changes"]]
    if changes:
        lines += ["Changed since the files that were there before:", *changes]
    return (*lines, "Before you ride:", *(f"- {caution}" for caution in report["cautions"]))


def _motion_line(limits: list[dict[str, Any]]) -> list[str]:
    """The least clearance over the whole motion, if anything moves against the fender."""
    moving = [limit for limit in limits if "pose" in limit and "bolt" not in limit]
    if not moving:
        return []
    least = min(moving, key=lambda limit: float(limit["min_mm"]) - float(limit["required_mm"]))
    return [
        (
            f"Least over its whole motion: {least['min_mm']:.2f} mm to the {least['name']}, at {least['pose']['words']}; required "
            f"{least['required_mm']:.2f} mm."
        )
    ]


def _hardware_line(limits: list[dict[str, Any]]) -> list[str]:
    """What the heads and nuts keep, if there are any that stand toward something."""
    screws = [limit for limit in limits if "bolt" in limit]
    if not screws:
        return []
    least = min(screws, key=lambda limit: float(limit["min_mm"]) - float(limit["required_mm"]))
    return [f"Least of heads and nuts: {least['min_mm']:.2f} mm to the {least['name']}; required {least['required_mm']:.2f} mm."]
