# SPDX-License-Identifier: GPL-3.0-or-later
"""Panels of the gauges: write them, type the gaps, see the corrections."""

from __future__ import annotations

from typing import Any

import bpy

from ..base.panel_parts import JobPanel, draw_text
from ..state import session
from ..state.scene_settings import settings_of
from ..state.shown import Comparison
from .gap_comparison import HEAD, comparison_key


class FENDERWRIGHT_PT_gauges(JobPanel, bpy.types.Panel):
    """Small prints that prove the numbers before anything large is printed"""

    bl_label = "Gauges"
    bl_order = 35
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        gauges = settings_of(context.scene).gauges
        layout.prop(gauges, "width")
        row = layout.row(align=True)
        row.prop(gauges, "use_stations")
        row.operator("fenderwright.add_station", text="", icon="ADD")
        column = layout.column(align=True)
        column.active = gauges.use_stations
        for index, entry in enumerate(gauges.stations):
            row = column.row(align=True)
            row.prop(entry, "value")
            remove: Any = row.operator("fenderwright.remove_station", text="", icon="REMOVE")
            remove.index = index
        layout.operator("fenderwright.write_gauges", icon="EXPORT")
        for line in session.of_scene(context.scene).gauge_lines:
            draw_text(layout, line)


class FENDERWRIGHT_PT_gaps(JobPanel, bpy.types.Panel):
    """Gaps read against the gauges on the bike, and what they say of the sheet"""

    bl_label = "Gaps Read"
    bl_parent_id = "FENDERWRIGHT_PT_gauges"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        gauges = settings.gauges
        layout.operator("fenderwright.load_points", icon="FILE_FOLDER")
        if len(gauges.gaps):
            _draw_gaps(layout, gauges)
        else:
            draw_text(layout, "Write gauges, or load the points of those that were printed.")
        layout.operator("fenderwright.compare_gaps", icon="VIEWZOOM")
        made = session.of_scene(context.scene).comparison
        if made is not None and made.key == comparison_key(settings):
            _draw_comparison(layout, made)
            layout.operator("fenderwright.take_over_corrections", icon="CHECKMARK")


def _draw_gaps(layout: bpy.types.UILayout, gauges: Any) -> None:
    column = layout.column(align=True)
    column.use_property_split = False
    for entry in gauges.gaps:
        row = column.row(align=True)
        row.prop(entry, "is_read", text=entry.label)
        value = row.row(align=True)
        value.active = entry.is_read
        value.prop(entry, "gap", text="")
    layout.prop(gauges, "sigma")
    column = layout.column(align=True)
    column.use_property_split = False
    column.label(text=f"{gauges.bl_rna.properties['by_hand'].name}:")
    column.prop(gauges, "by_hand")


def _draw_comparison(layout: bpy.types.UILayout, made: Comparison) -> None:
    column = layout.column(align=True)
    for cells in (HEAD, *made.rows):
        split = column.split(factor=0.46)
        split.label(text=cells[0])
        row = split.row()
        for cell in cells[1:]:
            part = row.row()
            part.alignment = "RIGHT"
            part.label(text=cell)
    for sentence in made.refusals:
        draw_text(layout, sentence, "QUESTION")
    for sentence in made.warnings:
        draw_text(layout, sentence, "ERROR")
    if made.repeat:
        draw_text(layout, made.repeat, "FILE_REFRESH")


CLASSES = (FENDERWRIGHT_PT_gauges, FENDERWRIGHT_PT_gaps)
