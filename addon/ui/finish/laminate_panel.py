# SPDX-License-Identifier: GPL-3.0-or-later
"""The panel of the laminated part: plies, resin, route, and what they come to."""

from __future__ import annotations

import bpy

from ..base.panel_parts import JobPanel, draw_list, draw_rows, draw_values
from ..state import session
from ..state.scene_settings import settings_of


class FENDERWRIGHT_PT_laminate(JobPanel, bpy.types.Panel):
    """Fiberglass part that is made with the help of the print"""

    bl_label = "Laminate"
    bl_order = 85
    bl_options = {"DEFAULT_CLOSED"}

    def draw_header(self, context: bpy.types.Context) -> None:
        self.layout.prop(settings_of(context.scene), "use_laminate", text="")

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        layout.active = settings.use_laminate
        laminate = settings.laminate
        draw_values(
            layout, laminate, "laminate", "route", "pieces", "pull", "flange", "printed_mold", "shrink", "edge", "edge_size"
        )
        draw_list(layout, laminate, "laminate", "plies")
        draw_values(layout, laminate, "laminate", "resin", "hardener", "temperature", "gel_coat")
        draw_values(layout, laminate, "laminate", "mat_ratio", "cloth_ratio", "waste", "strain", "overlap")
        layout.operator("fenderwright.show_draft", icon="COLOR")
        layout.operator("fenderwright.open_draft", icon="MOD_SIMPLEDEFORM")
        draw_rows(layout, session.of_scene(context.scene).laminate_rows)


CLASSES = (FENDERWRIGHT_PT_laminate,)
