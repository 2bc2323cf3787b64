# SPDX-License-Identifier: GPL-3.0-or-later
"""Several variants of one job without a window: sheets in, each one's files and the comparison out."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..core.base.errors import JobError
from ..core.clearance.clearance_field import clearance_field
from ..core.job.job_sheet import Job, read_job_sheet
from ..core.report.check_job import check_job
from ..core.shaping.seed import Seed
from ..core.skin.skin import triangles
from ..core.variants.figures import VariantFigures, variant_report, variant_table
from ..core.variants.same_job import check_same_job
from ..core.variants.shape_difference import ShapeDifference, shape_difference
from ..output.atomic_output import atomic_output
from ..output.job_files import write_job_files
from ..pipeline.followed_seed import followed_seed
from ..pipeline.job_result import JobResult, Progress, Timings, make_job
from ..pipeline.job_stiffness import with_computed_flex
from ..pipeline.steps import run_steps
from ..pipeline.variant_steps import variant_figures_steps
from .keepouts.keepout_mesh import mesh_body_maker
from .pictures.difference_picture import render_difference
from .pictures.job_pictures import draw_pictures

REPORT = "variants.json"


def run_variants(
    sheets: Sequence[Path], out: Path, progress: Progress, save_scene: Callable[[Path, Job, Seed], None]
) -> tuple[str, ...]:
    """Make each sheet's fender, write its files into a folder of its own and the comparison beside them; returns the table.

    A variant is called as its sheet's file. The first one is what the others' shapes are compared with.
    Raises JobError, CageError, ShapeError or OSError with a sentence; nothing is written then.
    """
    jobs = _read(sheets)
    made = [_make(name, sheet, job, progress) for sheet, (name, job) in zip(sheets, jobs.items(), strict=True)]
    first = made[0]
    with atomic_output(out, (REPORT, "difference_*.png", *(f"{name}/*" for name in jobs))) as new:
        for each in made:
            each.write(new / each.figures.name, progress, save_scene)
        differences = {each.figures.name: _difference(each, first, new) for each in made[1:]}
        told = [_told(each.figures, differences.get(each.figures.name)) for each in made]
        report = {"variants": told, "compared_with": first.figures.name}
        (new / REPORT).write_text(json.dumps(report, indent=1) + "\n", encoding="utf-8")
    return variant_table([each.figures for each in made])


@dataclass(frozen=True, eq=False)
class _Made:
    result: JobResult
    seed: Seed
    figures: VariantFigures

    def write(self, folder: Path, progress: Progress, save_scene: Callable[[Path, Job, Seed], None]) -> None:
        """Write its files into a folder."""
        timings = Timings(lambda step: progress(f"{self.figures.name}: {step}"))
        write_job_files(self.result, folder, timings, draw_pictures, lambda path: save_scene(path, self.result.job, self.seed))


def _make(name: str, sheet: Path, job: Job, progress: Progress) -> _Made:
    mesh_body = mesh_body_maker(sheet.parent)
    job = with_computed_flex(job, lambda asked: followed_seed(asked, clearance_field(asked, mesh_body=mesh_body)).cage, mesh_body)
    field = clearance_field(job, mesh_body=mesh_body)
    seed = followed_seed(job, field)
    result = make_job(job, seed.cage, Timings(lambda step: progress(f"{name}: {step}")), field=field, mesh_body=mesh_body)
    return _Made(result, seed, run_steps(variant_figures_steps(name, result)))


def _difference(made: _Made, first: _Made, folder: Path) -> ShapeDifference:
    """Of a variant's skin from that of the first, with its picture in a folder."""
    name, other = made.figures.name, first.result.skin
    difference = shape_difference(made.result.skin.points, other.points, triangles(other))
    render_difference(
        made.result.skin, difference, _words(name, first.figures.name, difference), folder / f"difference_{name}.png"
    )
    return difference


def _read(sheets: Sequence[Path]) -> dict[str, Job]:
    if len(sheets) < 2:
        raise JobError("variants", f"{len(sheets)} sheet is not enough; a comparison needs two or more")
    jobs: dict[str, Job] = {}
    for sheet in sheets:
        job = read_job_sheet(sheet)
        check_job(job)
        if sheet.stem in jobs:
            raise JobError(f'variant "{sheet.stem}"', "is named twice; each sheet's file needs a name of its own")
        for other in jobs.values():
            check_same_job(sheet.stem, other, job)
        jobs[sheet.stem] = job
    return jobs


def _told(row: VariantFigures, difference: ShapeDifference | None) -> dict[str, Any]:
    told = variant_report(row)
    if difference is not None:
        inside, outside = difference.span
        told["difference"] = {
            "mean_mm": round(difference.mean_mm, 3),
            "farthest_inside_mm": round(inside, 3),
            "farthest_outside_mm": round(outside, 3),
            "past_the_edge": round(float(difference.beyond.mean()), 4),
        }
    return told


def _words(name: str, first: str, difference: ShapeDifference) -> tuple[str, ...]:
    inside, outside = difference.span
    return (
        f"{name}, compared with {first}",
        f"up to {-inside:.1f} mm inside and {outside:.1f} mm outside of it, {difference.mean_mm:.1f} mm in the mean",
    )
