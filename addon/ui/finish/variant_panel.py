# SPDX-License-Identifier: GPL-3.0-or-later
"""Panel of the shapes that are kept for one job."""

from __future__ import annotations

import bpy

from ..base.panel_parts import JobPanel, draw_text
from ..base.table_rows import active_row
from ..state.scene_settings import settings_of


class FENDERWRIGHT_PT_variants(JobPanel, bpy.types.Panel):
    """Shapes that are kept for this job, compared with each other"""

    bl_label = "Variants"
    bl_parent_id = "FENDERWRIGHT_PT_finish"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        row = layout.row()
        row.template_list("UI_UL_list", "fenderwright_variants", settings, "variants", settings, "active_variant", rows=2)
        buttons = row.column(align=True)
        buttons.operator("fenderwright.keep_variant", text="", icon="ADD")
        buttons.operator("fenderwright.remove_variant", text="", icon="REMOVE")
        variant = active_row(settings, "variant")
        if variant is None:
            draw_text(layout, "Keep the present shape to try another.")
            return
        layout.prop(variant, "name")
        column = layout.column(align=True)
        column.operator("fenderwright.use_variant", icon="LOOP_BACK")
        pair = column.row(align=True)
        pair.operator("fenderwright.take_variant_trim")
        pair.operator("fenderwright.take_variant_edge")
        pair = column.row(align=True)
        pair.operator("fenderwright.show_variant", icon="GHOST_ENABLED")
        pair.operator("fenderwright.show_difference", icon="COLOR")
        layout.operator("fenderwright.compare_variants", icon="SPREADSHEET")
        for each in settings.variants:
            if each.told:
                draw_text(layout, f"{each.name}: {each.told}.")
        layout.operator("fenderwright.write_variants", icon="EXPORT")


CLASSES = (FENDERWRIGHT_PT_variants,)
