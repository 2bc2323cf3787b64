# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that make the solid and write the files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy

from ..core.errors import CageError, JobError, ShapeError
from ..host.cage_mesh import read_cage
from ..host.cage_object_problems import cage_object_problems
from ..host.job_files import write_job_files
from ..host.job_result import JobResult, Timings, make_job
from ..host.keepout_mesh import mesh_body_maker
from ..host.part_objects import show_parts
from . import session
from .settings import settings_of
from .shape_operators import CageOperator

_STEPS = 8
"""Steps that a job tells of, for the progress shown at the cursor."""


def _progress(context: bpy.types.Context) -> Any:
    done = 0
    context.window_manager.progress_begin(0, _STEPS)

    def told(_: str) -> None:
        nonlocal done
        done += 1
        context.window_manager.progress_update(min(done, _STEPS))

    return told


def _result(context: bpy.types.Context, timings: Timings) -> JobResult:
    """The finished job of the scene. Raises CageError, JobError or ShapeError with a sentence."""
    state = session.of_scene(context.scene)
    if state.facts is None:
        raise JobError("Job", state.problem)
    cage = settings_of(context.scene).cage_object
    stops = [problem.sentence for problem in cage_object_problems(cage) if problem.stops]
    if stops:
        raise CageError("; ".join(stops))
    mesh_body = mesh_body_maker(session.sheet_folder(context.scene))
    return make_job(state.facts.job, read_cage(cage), timings, field=state.facts.field, mesh_body=mesh_body)


class FENDERWRIGHT_OT_build_solid(CageOperator, bpy.types.Operator):
    """Give the skin its wall, seat, holes and split, and show the pieces"""

    bl_idname = "fenderwright.build_solid"
    bl_label = "Build Solid"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        try:
            result = _result(context, Timings(_progress(context)))
        except (CageError, JobError, ShapeError) as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        finally:
            context.window_manager.progress_end()
        with session.OwnChange():
            show_parts(context.scene, result.finished.parts)
        session.of_scene(context.scene).result_lines = _lines(result)
        self.report({"INFO"}, _lines(result)[0])
        return {"FINISHED"}


class FENDERWRIGHT_OT_write_halves(CageOperator, bpy.types.Operator):
    """Write halves, 3MF, clearance map, scene and report into a folder"""

    bl_idname = "fenderwright.write_halves"
    bl_label = "Write Halves"
    bl_options = {"REGISTER"}  # type: ignore[assignment]

    directory: bpy.props.StringProperty(  # type: ignore[valid-type]
        name="Folder", description="Folder that the files are written into", subtype="DIR_PATH"
    )

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[Any]:
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> set[Any]:
        timings = Timings(_progress(context))
        folder = Path(bpy.path.abspath(self.directory)) if self.directory else None
        if folder is None:
            self.report({"ERROR"}, "Folder: is empty; name the folder that the files are to be written into")
            return {"CANCELLED"}
        try:
            result = _result(context, timings)
            report = write_job_files(result, folder, timings, _save_copy)
        except (CageError, JobError, ShapeError, OSError) as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        finally:
            context.window_manager.progress_end()
        with session.OwnChange():
            show_parts(context.scene, result.finished.parts)
        state = session.of_scene(context.scene)
        state.result_lines = (*_lines(result), f"Files are in {folder}", *report["cautions"])
        self.report({"INFO"}, f"Wrote {len(report['halves'])} pieces into {folder}")
        return {"FINISHED"}


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
