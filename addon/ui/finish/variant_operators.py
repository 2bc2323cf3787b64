# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that keep shapes of one job, bring them back, take parts of them over, and compare them."""

from __future__ import annotations

import json
from typing import Any

import bpy

from ...core.base.errors import JobError
from ...core.job.job_sheet import Job, parse_job
from ...core.skin.skin import full_skin, skin, triangles
from ...core.skin.skin_stencil import skin_stencil
from ...core.variants.figures import variant_words
from ...core.variants.same_job import check_same_job
from ...core.variants.shape_difference import shape_difference
from ...host.cage.cage_mesh import read_cage
from ...host.keepouts.keepout_mesh import mesh_body_maker
from ...host.pictures.job_pictures import draw_pictures
from ...host.variant_cages import copy_cage, hide_difference, keep_cage, remove_cage, show_difference
from ...output.job_files import file_steps
from ...pipeline.job_result import JobResult, Timings, job_steps
from ...pipeline.steps import Steps
from ...pipeline.variant_steps import variant_figures_steps
from ..base.cage_operator import CageOperator
from ..base.folder_operator import FolderOperator
from ..base.step_operator import REFUSALS, StepOperator
from ..base.table_rows import RowOperator, active_row, add_row
from ..shape.map_operator import put_aside, take_map_away
from ..state import session
from ..state.job_values import job_data, read_job, write_job_data
from ..state.scene_settings import settings_of

TRIM = ("trim", "trim_line", "opening")
EDGE = ("edge",)
_EDGE_OF_WALL = ("edge", "edge_size")
_NOT_IN_NAMES = '\\/:*?"<>|'


class VariantOperator(RowOperator):
    """Operators on the variant that is shown, in object mode."""

    table, called = "variant", "variant"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        if context.mode == "OBJECT":
            return True
        cls.poll_message_set("Go back to object mode first")  # type: ignore[attr-defined]
        return False


class FENDERWRIGHT_OT_keep_variant(CageOperator, bpy.types.Operator):
    """Keep the present shape and its choices as a variant"""

    bl_idname = "fenderwright.keep_variant"
    bl_label = "Keep Variant"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        with session.OwnChange():
            row = add_row(settings, "variant", "variant")
            row.sheet = json.dumps(job_data(settings))
            row.cage = keep_cage(context.scene, settings.cage_object, f"{row.name} cage")
        self.report({"INFO"}, f"Kept the present shape as {row.name}")
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_variant(VariantOperator, bpy.types.Operator):
    """Remove the variant that is shown, with its cage"""

    bl_idname = "fenderwright.remove_variant"
    bl_label = "Remove Variant"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        with session.OwnChange():
            remove_cage(active_row(settings, "variant").cage)
            settings.variants.remove(settings.active_variant)
            settings.active_variant = max(0, min(settings.active_variant, len(settings.variants) - 1))
        return {"FINISHED"}


class FENDERWRIGHT_OT_use_variant(VariantOperator, bpy.types.Operator):
    """Go on with the shape and the choices of this variant; the present cage stays, hidden"""

    bl_idname = "fenderwright.use_variant"
    bl_label = "Use Variant"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        row = active_row(settings, "variant")
        try:
            _checked_job(settings, row)
        except JobError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        with session.OwnChange():
            former = settings.cage_object
            cage = copy_cage(row.cage, "Fender Cage", context.scene.collection)
            cage.hide_render = cage.hide_select = False
            cage.display_type = "TEXTURED"
            if former is not None:
                former.hide_viewport = True
            settings.cage_object = cage
            write_job_data(settings, json.loads(row.sheet))
        session.mark_job_changed(context.scene)
        self.report({"INFO"}, f"{row.name} is shaped now")
        return {"FINISHED"}


class FENDERWRIGHT_OT_take_variant_trim(VariantOperator, bpy.types.Operator):
    """Take over lines, tips and openings of this variant"""

    bl_idname = "fenderwright.take_variant_trim"
    bl_label = "Copy Trim"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        return _take_over(self, context, TRIM, ())


class FENDERWRIGHT_OT_take_variant_edge(VariantOperator, bpy.types.Operator):
    """Take over how this variant closes its edges"""

    bl_idname = "fenderwright.take_variant_edge"
    bl_label = "Copy Edge"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        return _take_over(self, context, EDGE, _EDGE_OF_WALL)


class FENDERWRIGHT_OT_show_variant(VariantOperator, bpy.types.Operator):
    """Show this variant as a ghost beside the present shape, or hide it again"""

    bl_idname = "fenderwright.show_variant"
    bl_label = "Show Ghost"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        row = active_row(settings_of(context.scene), "variant")
        if row.cage is None:
            self.report({"ERROR"}, f"{row.name} has lost its cage; remove it")
            return {"CANCELLED"}
        with session.OwnChange():
            row.cage.hide_viewport = not row.cage.hide_viewport
        return {"FINISHED"}


class FENDERWRIGHT_OT_show_difference(VariantOperator, bpy.types.Operator):
    """Color the present shape by how far it lies outside or inside of this variant, or take that away again"""

    bl_idname = "fenderwright.show_difference"
    bl_label = "Show Difference"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings, scene = settings_of(context.scene), context.scene
        row = active_row(settings, "variant")
        with session.OwnChange():
            if hide_difference(scene.collection):
                put_aside(context, False)
                return {"FINISHED"}
        take_map_away(context)
        if row.cage is None or settings.cage_object is None:
            self.report({"ERROR"}, f"{row.name} cannot be compared; it or the scene has no cage")
            return {"CANCELLED"}
        shapes = []
        for ob in (settings.cage_object, row.cage):
            cage = read_cage(ob)
            shapes.append(full_skin(skin(cage, skin_stencil(cage.topology, settings.cage.level))))
        present, other = shapes
        difference = shape_difference(present.points, other.points, triangles(other))
        with session.OwnChange():
            span = show_difference(present, difference, scene.collection)
            put_aside(context, True)
        inside, outside = difference.span
        self.report(
            {"INFO"},
            f"Blue is inside of {row.name}, by up to {-inside:.1f} mm, orange outside, by up to {outside:.1f}; full color is {span:g} mm",
        )
        return {"FINISHED"}


class FENDERWRIGHT_OT_compare_variants(StepOperator, VariantOperator, bpy.types.Operator):
    """Build every variant and tell its clearance, mass, pieces, hours, stiffness and coverage"""

    bl_idname = "fenderwright.compare_variants"
    bl_label = "Compare Variants"
    step_count = 20

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[Any]:
        return self.begin_stepping(context)

    def steps(self, context: bpy.types.Context) -> Steps[str]:
        settings = settings_of(context.scene)
        told = {}
        for row in settings.variants:
            name = row.name
            result = yield from _result_steps(context.scene, row)
            told[name] = variant_words((yield from variant_figures_steps(name, result)))
        for row in settings.variants:
            row.told = told.get(row.name, "")
        return f"Compared {len(told)} variants"


class FENDERWRIGHT_OT_write_variants(FolderOperator, VariantOperator, bpy.types.Operator):
    """Write the files of every variant into a folder of its own name"""

    bl_idname = "fenderwright.write_variants"
    bl_label = "Export Variants"
    bl_options = {"REGISTER"}  # type: ignore[assignment]
    step_count = 30

    def steps(self, context: bpy.types.Context) -> Steps[str]:
        folder, results = self.folder, {}
        for row in settings_of(context.scene).variants:
            name = _folder_name(row.name)
            if name in results:
                raise JobError(f'variant "{name}"', "is there twice; each needs a name of its own")
            results[name] = yield from _result_steps(context.scene, row)
        for name, result in results.items():
            yield from file_steps(result, folder / name, Timings(_untold), draw_pictures)
        return f"Wrote {len(results)} variants into {folder}"


def _untold(_: str) -> None:
    """What is done next is told by the operator."""


def _folder_name(name: str) -> str:
    """Raises JobError if no folder can be called so."""
    if not name.strip(" .") or any(letter in _NOT_IN_NAMES for letter in name):
        raise JobError(f'variant "{name}"', f"cannot name a folder; allowed is a name without {' '.join(_NOT_IN_NAMES)}")
    return name


def _checked_job(settings: Any, row: Any) -> Job:
    """The job of a variant. Raises JobError if it has lost its cage, or is of another job than the scene's."""
    if row.cage is None:
        raise JobError(f'variant "{row.name}"', "has lost its cage; remove it")
    job = parse_job(json.loads(row.sheet))
    check_same_job(row.name, read_job(settings), job)
    return job


def _result_steps(scene: bpy.types.Scene, row: Any) -> Steps[JobResult]:
    job = _checked_job(settings_of(scene), row)
    return (
        yield from job_steps(job, read_cage(row.cage), Timings(_untold), mesh_body=mesh_body_maker(session.sheet_folder(scene)))
    )


def _take_over(operator: Any, context: bpy.types.Context, names: tuple[str, ...], of_wall: tuple[str, ...]) -> set[Any]:
    """Copy sections or tables, and keys of the wall, from the variant into the present job."""
    settings = settings_of(context.scene)
    row = active_row(settings, "variant")
    try:
        _checked_job(settings, row)
        theirs, ours = json.loads(row.sheet), job_data(settings)
        for name in names:
            ours[name] = theirs[name]
        for key in of_wall:
            ours["wall"].pop(key, None)
            if key in theirs["wall"]:
                ours["wall"][key] = theirs["wall"][key]
        parse_job(ours)
    except REFUSALS as error:
        operator.report({"ERROR"}, str(error))
        return {"CANCELLED"}
    write_job_data(settings, ours)
    session.mark_job_changed(context.scene)
    operator.report({"INFO"}, f"Took over from {row.name}")
    return {"FINISHED"}


CLASSES = (
    FENDERWRIGHT_OT_keep_variant,
    FENDERWRIGHT_OT_remove_variant,
    FENDERWRIGHT_OT_use_variant,
    FENDERWRIGHT_OT_take_variant_trim,
    FENDERWRIGHT_OT_take_variant_edge,
    FENDERWRIGHT_OT_show_variant,
    FENDERWRIGHT_OT_show_difference,
    FENDERWRIGHT_OT_compare_variants,
    FENDERWRIGHT_OT_write_variants,
)
