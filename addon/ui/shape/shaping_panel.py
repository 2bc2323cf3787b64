# SPDX-License-Identifier: GPL-3.0-or-later
"""Panel and header menu for shaping."""

from __future__ import annotations

import bpy

from ..base.panel_parts import JobPanel, draw_rows, draw_text
from ..state import session
from ..state.scene_settings import settings_of


class FENDERWRIGHT_PT_shaping(JobPanel, bpy.types.Panel):
    """How the cage is watched while it is shaped"""

    bl_label = "Shaping"
    bl_order = 70

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        state = session.of_scene(context.scene)
        modes = layout.row(align=True)
        modes.use_property_split = False  # beside a label they would be cut short
        modes.prop(settings, "hold", expand=True)
        layout.prop(settings, "hold_seat")
        layout.prop(settings, "show_map")
        layout.prop(settings, "show_section")
        column = layout.column(align=True)
        column.active = settings.show_section
        column.prop(settings, "section_follows")
        station = column.row()
        station.active = not settings.section_follows
        station.prop(settings, "section_station")
        column = layout.column(align=True)
        for operator in _OPERATORS:
            column.operator(operator)
        for problem in state.problems:
            draw_text(layout, problem.sentence, "ERROR" if problem.stops else "INFO")
        if state.readout is not None:
            draw_rows(layout, state.readout.rows)


_OPERATORS = (
    "fenderwright.restore_clearance",
    "fenderwright.repair_cage",
    "fenderwright.make_half",
    "fenderwright.bake_map",
)


class FENDERWRIGHT_MT_fender(bpy.types.Menu):
    """The job of the fender, from the header"""

    bl_label = "Fender"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        settings = settings_of(context.scene)
        layout.operator("fenderwright.load_sheet")
        layout.operator("fenderwright.save_sheet")
        layout.separator()
        layout.operator("fenderwright.seed_cage")
        layout.prop_menu_enum(settings, "hold")
        for operator in _OPERATORS:
            layout.operator(operator)
        layout.separator()
        for toggle in ("hold_seat", "show_map", "show_section", "section_follows"):
            layout.prop(settings, toggle)
        layout.separator()
        layout.operator("fenderwright.build_solid")
        layout.operator("fenderwright.write_halves")


def draw_in_header(menus: bpy.types.Menu, context: bpy.types.Context) -> None:
    """The menu beside the host's own."""
    menus.layout.menu("FENDERWRIGHT_MT_fender")


CLASSES = (FENDERWRIGHT_PT_shaping, FENDERWRIGHT_MT_fender)


def register() -> None:
    bpy.types.VIEW3D_MT_editor_menus.append(draw_in_header)


def unregister() -> None:
    bpy.types.VIEW3D_MT_editor_menus.remove(draw_in_header)
