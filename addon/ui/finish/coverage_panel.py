# SPDX-License-Identifier: GPL-3.0-or-later
"""Panel of what the fender covers and what spray must keep off."""

from __future__ import annotations

from typing import Any

import bpy

from ..base.panel_parts import JobPanel, draw_table, draw_text, draw_values
from ..base.table_rows import RemoveRowOperator, add_row
from ..state import session
from ..state.scene_settings import settings_of


class FENDERWRIGHT_OT_add_target(bpy.types.Operator):
    """Add something that spray is to keep off, where the 3D cursor is"""

    bl_idname = "fenderwright.add_target"
    bl_label = "Add Target"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> set[Any]:
        row = add_row(settings_of(context.scene), "target", "target")
        row.center = context.scene.cursor.location
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_target(RemoveRowOperator, bpy.types.Operator):
    """Remove the target that is shown"""

    bl_idname = "fenderwright.remove_target"
    bl_label = "Remove Target"
    table, called = "target", "target"


class FENDERWRIGHT_PT_coverage(JobPanel, bpy.types.Panel):
    """How much of the tire the fender hides, where it ends, and what spray reaches"""

    bl_label = "Coverage and Spray"
    bl_parent_id = "FENDERWRIGHT_PT_finish"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        draw_values(layout, settings.coverage, "coverage", "axle_height")
        target = draw_table(layout, settings, "target")
        if target is not None:
            draw_values(layout, target, "target", "name", "center", "radius", "sides")
        lines = session.of_scene(context.scene).coverage_lines
        if not lines:
            draw_text(layout, "Build the solid to see them.")
        for line in lines:
            draw_text(layout, line)


CLASSES = (FENDERWRIGHT_OT_add_target, FENDERWRIGHT_OT_remove_target, FENDERWRIGHT_PT_coverage)
