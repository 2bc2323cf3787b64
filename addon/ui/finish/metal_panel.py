# SPDX-License-Identifier: GPL-3.0-or-later
"""Panel of the same shape in sheet metal."""

from __future__ import annotations

import bpy

from ..base.panel_parts import JobPanel, draw_text, draw_values
from ..state import session
from ..state.scene_settings import settings_of


class FENDERWRIGHT_PT_metal(JobPanel, bpy.types.Panel):
    """Station buck of plywood, templates and the crown laid flat, for the same shape in sheet metal"""

    bl_label = "Sheet Metal"
    bl_parent_id = "FENDERWRIGHT_PT_finish"
    bl_options = {"DEFAULT_CLOSED"}

    def draw_header(self, context: bpy.types.Context) -> None:
        self.layout.prop(settings_of(context.scene), "use_metal", text="")

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        layout.active = settings.use_metal
        draw_values(layout, settings.metal, "metal", "sheet", "wire", "wire_side")
        draw_values(layout, settings.metal, "metal", "plywood", "across", "along", "foot", "fit", "strain")
        for line in session.of_scene(context.scene).metal_lines if settings.use_metal else ():
            draw_text(layout, line)


CLASSES = (FENDERWRIGHT_PT_metal,)
