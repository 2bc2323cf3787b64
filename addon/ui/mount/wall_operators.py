# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that paint the wall and edit its ribs."""

from __future__ import annotations

from typing import Any

import bpy

from ...host.cage.wall_paint import add_paint_group
from ..base.cage_operator import CageOperator
from ..base.table_rows import RemoveRowOperator, add_row
from ..state import session
from ..state.scene_settings import settings_of


class FENDERWRIGHT_OT_paint_wall(CageOperator, bpy.types.Operator):
    """Paint where the wall has another thickness: weight 1 gives the painted one, weight 0 leaves the wall as it is"""

    bl_idname = "fenderwright.paint_wall"
    bl_label = "Paint Wall"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        return cls.in_object_mode(context)

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        cage, wall = settings.cage_object, settings.wall
        if not wall.use_painted_thickness:
            wall.use_painted_thickness, wall.painted_thickness = True, 1.5 * wall.thickness
        add_paint_group(cage)
        cage.hide_set(False)
        for ob in context.selected_objects:
            ob.select_set(False)
        cage.select_set(True)
        context.view_layer.objects.active = cage
        bpy.ops.object.mode_set(mode="WEIGHT_PAINT")
        session.mark_job_changed(context.scene)
        self.report({"INFO"}, f"Weight 1 gives {wall.painted_thickness:g} mm; paint, then go back to object mode")
        return {"FINISHED"}


class FENDERWRIGHT_OT_add_rib(bpy.types.Operator):
    """Add a rib along the center, from end to end"""

    bl_idname = "fenderwright.add_rib"
    bl_label = "Add Rib"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        facts = session.of_scene(context.scene).facts
        rib = add_row(settings, "rib", "rib")
        rib.rear, rib.front = (-40.0, 20.0) if facts is None else (0.9 * facts.job.cage.rear, 0.9 * facts.job.cage.front)
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_rib(RemoveRowOperator, bpy.types.Operator):
    """Remove the rib that is shown"""

    bl_idname = "fenderwright.remove_rib"
    bl_label = "Remove Rib"
    table, called = "rib", "rib"


CLASSES = (FENDERWRIGHT_OT_paint_wall, FENDERWRIGHT_OT_add_rib, FENDERWRIGHT_OT_remove_rib)
