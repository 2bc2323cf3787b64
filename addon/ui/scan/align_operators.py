# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that bring a scan into wheel axes, fill the sheet from it, and bring it back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import bpy
import numpy as np

from ...core.base.arrays import Array
from ...core.base.errors import JobError
from ...core.scan.alignment.align_scan import STEPS, alignment_steps
from ...core.scan.alignment.job_from_alignment import job_from_alignment
from ...core.scan.alignment.residual_colors import residual_colors
from ...core.scan.alignment.residual_map import residual_map
from ...core.scan.data.hints import Hints
from ...core.scan.data.unit_check import unit_warning
from ...host.scan_object import (
    RESIDUAL_LAYER,
    matrix_before,
    mesh_of,
    place_aligned,
    place_back,
    read_scan,
    region_masks,
    show_colors,
    shown_matrix,
)
from ...pipeline.steps import Steps
from ..base.step_operator import StepOperator
from ..state import session
from ..state.job_values import job_data, write_job_data
from ..state.scene_settings import settings_of
from .scan_overlay import mark_scan_changed
from .scan_properties import scan_settings
from .scan_report import forget_report, keep_report, report_of
from .scan_view import look_at_scan, show_point_colors


@dataclass(frozen=True, eq=False)
class _Start:
    """The scan object, its matrix before it is aligned, and what is stated of its directions."""

    ob: bpy.types.Object
    matrix: Array
    directions: dict[str, Array]


def _align(context: bpy.types.Context, start: _Start) -> Steps[str]:
    """Align, then change object and sheet in one go at the end. Raises JobError with a sentence."""
    scene, ob = context.scene, start.ob
    yield "Reading the scan"
    scan = read_scan(ob, start.matrix)
    hints = Hints(directions=start.directions, position=settings_of(scene).wheel.position, masks=region_masks(mesh_of(ob)))
    found = yield from alignment_steps(scan, hints)
    wrong = unit_warning(found.section.crown_radius, "mm")
    if wrong is not None:
        raise JobError("scan", f"{wrong[0].lower()}{wrong[1:]} Import it again with its unit")
    filled = job_from_alignment(found, job_data(settings_of(scene)))
    yield "Coloring the scan"
    report = report_of(found)
    colors = residual_colors(residual_map(scan.points, found), report.range_mm)
    with session.OwnChange():
        place_aligned(ob, start.matrix, found.scan_to_wheel @ start.matrix)
        show_colors(mesh_of(ob), RESIDUAL_LAYER, colors)
        keep_report(ob, report)
        write_job_data(settings_of(scene), filled.data)
    session.mark_job_changed(scene)
    mark_scan_changed(ob)
    show_point_colors()
    context.view_layer.update()
    look_at_scan(ob)
    return f"Aligned {ob.name}: crown radius {found.section.crown_radius:.1f} mm, the sheet is filled from {len(filled.sigma)} measures"


class ScanOperator:
    """Operators that need a scan in object mode."""

    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        ob = None if context.scene is None else scan_settings(context.scene).scan_object
        if ob is None or ob.name not in context.scene.objects:
            cls.poll_message_set("The scene has no scan, import one first")  # type: ignore[attr-defined]
        elif context.mode != "OBJECT":
            cls.poll_message_set("Leave edit mode first")  # type: ignore[attr-defined]
        else:
            return cls.can_do(ob)
        return False

    @classmethod
    def can_do(cls, ob: bpy.types.Object) -> bool:
        """Whether the operator has something to do on a scan."""
        return True


class AlignedOperator(ScanOperator):
    """Operators that need an aligned scan."""

    @classmethod
    def can_do(cls, ob: bpy.types.Object) -> bool:
        if matrix_before(ob) is not None:
            return True
        cls.poll_message_set("The scan is not aligned, or was moved since")  # type: ignore[attr-defined]
        return False


class FENDERWRIGHT_OT_align_scan(StepOperator, ScanOperator, bpy.types.Operator):
    """Find axle, tire and mount in the scan, move it into wheel axes and fill the sheet from it"""

    bl_idname = "fenderwright.align_scan"
    bl_label = "Align Scan"
    step_count = STEPS + 2

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[Any]:
        return self.begin_stepping(context)

    def steps(self, context: bpy.types.Context) -> Steps[str]:
        scan = scan_settings(context.scene)
        before = matrix_before(scan.scan_object)
        stated = {name: getattr(scan, name) for name in ("up", "forward")}
        directions = {name: _unit(code) for name, code in stated.items() if code != "FIND"}
        matrix = shown_matrix(scan.scan_object) if before is None else before
        return (yield from _align(context, _Start(scan.scan_object, matrix, directions)))


class FENDERWRIGHT_OT_turn_scan(StepOperator, AlignedOperator, bpy.types.Operator):
    """Align the scan again with front and rear, and with them left and right, exchanged"""

    bl_idname = "fenderwright.turn_scan"
    bl_label = "Swap Front and Rear"
    step_count = STEPS + 2

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[Any]:
        return self.begin_stepping(context)

    def steps(self, context: bpy.types.Context) -> Steps[str]:
        ob = scan_settings(context.scene).scan_object
        before = matrix_before(ob)
        if before is None:
            raise JobError("scan", "is not aligned, or was moved since")
        turn = (shown_matrix(ob) @ np.linalg.inv(before))[:3, :3]
        directions = {"up": turn.T @ [0.0, 0.0, 1.0], "forward": turn.T @ [0.0, 1.0, 0.0]}  # the rear so far
        return (yield from _align(context, _Start(ob, before, directions)))


class FENDERWRIGHT_OT_return_scan(AlignedOperator, bpy.types.Operator):
    """Put the scan back where it was before it was aligned; the sheet stays as it is"""

    bl_idname = "fenderwright.return_scan"
    bl_label = "Return Scan"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        ob = scan_settings(context.scene).scan_object
        with session.OwnChange():
            place_back(ob)
            forget_report(ob)
        context.view_layer.update()
        look_at_scan(ob)
        self.report({"INFO"}, f"{ob.name} is back where it was")
        return {"FINISHED"}


def _unit(code: str) -> Array:
    return np.asarray(np.eye(3)["XYZ".index(code[1])] * (1.0 if code[0] == "+" else -1.0))


CLASSES = (FENDERWRIGHT_OT_align_scan, FENDERWRIGHT_OT_turn_scan, FENDERWRIGHT_OT_return_scan)
