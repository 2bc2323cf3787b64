# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that make the solid and write the files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy

from ...core.base.errors import CageError, JobError
from ...core.clearance.keepout import MeshBodyMaker
from ...core.coverage.coverage import coverage_lines
from ...core.metal.metal_part import metal_lines
from ...host.cage.cage_mesh import read_cage
from ...host.cage.cage_object_problems import cage_object_problems, fineness_problems
from ...host.part_objects import show_parts, show_skin_or_solid
from ...host.pictures.job_pictures import draw_pictures
from ...output.job_files import file_steps
from ...pipeline.job_result import JobResult, Timings, job_steps
from ...pipeline.job_stiffness import MOST_FLEX_MM, MOST_ROUNDS, MOST_SPARE_MM, flex_of_cage
from ...pipeline.steps import Steps
from ..base.cage_operator import CageOperator
from ..base.folder_operator import FolderOperator
from ..base.step_operator import StepOperator
from ..shape.map_operator import take_map_away
from ..state import session
from ..state.scene_settings import settings_of
from ..watch.live import live_step
from ..watch.things import look


def _job_steps(scene: bpy.types.Scene, timings: Timings) -> Steps[JobResult]:
    """The finished job of a scene. Raises CageError, JobError or ShapeError with a sentence."""
    state = look(scene)
    if state.facts is None:
        raise JobError("Job", state.problem)
    cage = settings_of(scene).cage_object
    problems = fineness_problems(cage, state.facts.job.cage.level) if cage.type == "MESH" else []
    stops = [problem.sentence for problem in problems or cage_object_problems(cage) if problem.stops]
    if stops:
        raise CageError("; ".join(stops))
    mesh_body = session.mesh_bodies(scene)
    yield from _count_flex(scene, mesh_body)
    state = session.of_scene(scene)
    if state.facts is None:
        raise JobError("Job", state.problem)
    return (yield from job_steps(state.facts.job, read_cage(cage), timings, field=state.facts.field, mesh_body=mesh_body))


def _count_flex(scene: bpy.types.Scene, mesh_body: MeshBodyMaker) -> Steps[None]:
    """Where no flex is stated, have the budget count what the cage's own part gives way, and the cage moved clear of that.

    Where there is no room for it, the default stays; see with_computed_flex. The guard knows what was counted last, so that shaping never waits for it.
    """
    settings = settings_of(scene)
    for _ in range(MOST_ROUNDS):
        facts = session.of_scene(scene).facts
        if facts is None or facts.job.clearance.flex is not None:
            return
        yield "How far the fender gives way"
        flex, counted = flex_of_cage(facts.job, read_cage(settings.cage_object), mesh_body), facts.job.computed_flex
        if counted is not None and counted - MOST_SPARE_MM <= flex <= counted:
            return
        settings.computed_flex = flex if flex <= MOST_FLEX_MM else 0.0
        if session.of_scene(scene).facts is None:
            settings.computed_flex = 0.0  # there is no room for it, as the cautions tell
        live_step(scene, budget_s=None)
        if not settings.computed_flex:
            return


def _untold(_: str) -> None:
    """What is done next is told by the operator."""


class FENDERWRIGHT_OT_build_solid(StepOperator, CageOperator, bpy.types.Operator):
    """Give the skin its wall, seat, holes and split, and show the pieces"""

    bl_idname = "fenderwright.build_solid"
    bl_label = "Build Solid"
    step_count = 7

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[Any]:
        return self.begin_stepping(context)

    def steps(self, context: bpy.types.Context) -> Steps[str]:
        result = yield from _job_steps(context.scene, Timings(_untold))
        _show(context, result)
        session.of_scene(context.scene).result_lines = _lines(result)
        return _lines(result)[0]


class FENDERWRIGHT_OT_write_halves(FolderOperator, CageOperator, bpy.types.Operator):
    """Write halves, 3MF, clearance map, scene and report into a folder"""

    bl_idname = "fenderwright.write_halves"
    bl_label = "Export Parts"
    bl_options = {"REGISTER"}  # type: ignore[assignment]
    step_count = 12

    def steps(self, context: bpy.types.Context) -> Steps[str]:
        folder, timings = self.folder, Timings(_untold)
        result = yield from _job_steps(context.scene, timings)
        report = yield from file_steps(result, folder, timings, draw_pictures, _save_copy)
        _show(context, result)
        lines = (*_lines(result), f"Files are in {folder}", *report["cautions"])
        session.of_scene(context.scene).result_lines = lines
        return f"Wrote {len(report['halves'])} pieces into {folder}"


def _show(context: bpy.types.Context, result: JobResult) -> None:
    scene, state = context.scene, session.of_scene(context.scene)
    take_map_away(context)
    state.coverage_lines = coverage_lines(result.coverage)
    state.metal_lines = () if result.metal is None else metal_lines(result.job, result.metal)
    state.plans, state.body = result.plans, result.finished.body
    state.built, state.stiffness = result, None
    session.show_laminate(state, result.laminated)
    with session.OwnChange():
        show_parts(scene, result.finished.parts, result.finished.pins, settings_of(scene).apart)
        cage = settings_of(scene).cage_object
        if cage.mode != "OBJECT":
            bpy.ops.object.mode_set(mode="OBJECT")
        show_skin_or_solid(scene, cage, "solid")


def _save_copy(path: Path) -> None:
    bpy.ops.wm.save_as_mainfile(filepath=str(path), copy=True, compress=True)


def _lines(result: JobResult) -> tuple[str, ...]:
    least = result.tire
    lines = [f"Least clearance to the tire {least.min_mm:.2f} mm, proven over {least.proven_min_mm:.2f} mm"]
    for part, fit in zip(result.finished.parts, result.fits, strict=True):
        size = " x ".join(f"{value:.0f}" for value in fit.size)
        lines.append(f"{part.name}: {size} mm as printed, {'fits' if fit.fits else 'does not fit'} the bed")
    return tuple(lines)


CLASSES = (FENDERWRIGHT_OT_build_solid, FENDERWRIGHT_OT_write_halves)
