# SPDX-License-Identifier: GPL-3.0-or-later
"""Panel of the trim."""

from __future__ import annotations

from typing import Any

import bpy

from ..base.panel_parts import JobPanel, draw_table, draw_values, entry_operator
from ..state.scene_settings import settings_of
from ..state.trim_curves import is_drawn

_MOST_SHOWN = 12
"""A line with more points came from a curve, whose link is gone."""


class FENDERWRIGHT_PT_trim(JobPanel, bpy.types.Panel):
    """Lines, tips and openings that the skin is trimmed to before it gets its wall"""

    bl_label = "Trim"
    bl_order = 75
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        draw_values(layout, settings.trim, "trim", "front_radius", "rear_radius", "corner")
        line = draw_table(layout, settings, "trim_line")
        if line is not None:
            draw_values(layout, line, "trim_line", "name", "view")
            if line.view != "drop":
                layout.prop(line, "curve")
            if is_drawn(line):
                layout.label(text=f"{len(line.points)} points of the curve")
            else:
                _draw_points(layout, line)
        opening = draw_table(layout, settings, "opening")
        if opening is not None:
            draw_values(layout, opening, "opening", "name", "station", "x", "length", "width", "turn", "sides")


def _draw_points(layout: bpy.types.UILayout, line: Any) -> None:
    column = layout.column(align=True)
    row = column.row(align=True)
    row.label(text=f"Points ({len(line.points)})")
    row.operator("fenderwright.add_trim_point", text="", icon="ADD")
    if len(line.points) > _MOST_SHOWN:
        return
    for index, point in enumerate(line.points):
        row = column.row(align=True)
        row.use_property_split = False
        row.prop(point, "value", text="")
        entry_operator(row, "fenderwright.remove_entry", "trim_line", "points", "REMOVE").index = index


CLASSES = (FENDERWRIGHT_PT_trim,)
