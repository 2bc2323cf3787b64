# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that edit the trim of the job sheet."""

from __future__ import annotations

from typing import Any

import bpy

from ..base.table_rows import RemoveRowOperator, RowOperator, active_row, add_row
from ..state import session
from ..state.scene_settings import settings_of


class FENDERWRIGHT_OT_add_trim_line(bpy.types.Operator):
    """Add a line at an even drop below the crown, from end to end"""

    bl_idname = "fenderwright.add_trim_line"
    bl_label = "Add Trim Line"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        facts = session.of_scene(context.scene).facts
        rear, front, drop = (-20.0, 20.0, 30.0)
        if facts is not None:
            rear, front, drop = facts.job.cage.rear, facts.job.cage.front, facts.job.cage.side_drop
        line = add_row(settings, "trim_line", "line")
        line.view = "drop"
        for station in (rear, front):
            line.points.add().value = (station, drop)
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_trim_line(RemoveRowOperator, bpy.types.Operator):
    """Remove the line that is shown"""

    bl_idname = "fenderwright.remove_trim_line"
    bl_label = "Remove Trim Line"
    table, called = "trim_line", "trim line"


class FENDERWRIGHT_OT_add_trim_point(RowOperator, bpy.types.Operator):
    """Add a point after the last one of the line"""

    bl_idname = "fenderwright.add_trim_point"
    bl_label = "Add Point"
    table, called = "trim_line", "trim line"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        points = active_row(settings_of(context.scene), self.table).points
        last = tuple(points[-1].value) if len(points) else (0.0, 0.0)
        points.add().value = (last[0] + 10.0, last[1])
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_add_opening(bpy.types.Operator):
    """Add a round opening of 10 mm between the seat and the rear end"""

    bl_idname = "fenderwright.add_opening"
    bl_label = "Add Opening"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        facts = session.of_scene(context.scene).facts
        opening = add_row(settings, "opening", "opening")
        opening.length = opening.width = 10.0
        opening.station = -30.0 if facts is None else 0.6 * facts.job.cage.rear
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_opening(RemoveRowOperator, bpy.types.Operator):
    """Remove the opening that is shown"""

    bl_idname = "fenderwright.remove_opening"
    bl_label = "Remove Opening"
    table, called = "opening", "opening"


CLASSES = (
    FENDERWRIGHT_OT_add_trim_line,
    FENDERWRIGHT_OT_remove_trim_line,
    FENDERWRIGHT_OT_add_trim_point,
    FENDERWRIGHT_OT_add_opening,
    FENDERWRIGHT_OT_remove_opening,
)
