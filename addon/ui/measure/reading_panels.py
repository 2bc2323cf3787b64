# SPDX-License-Identifier: GPL-3.0-or-later
"""Panels that ask for hand readings and hold them against each other."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.readings.reading_kinds import READING_KINDS
from ..base.panel_parts import JobPanel, draw_rows, draw_text
from ..properties.reading_properties import PROFILE, PROFILE_LISTS
from ..state import session
from ..state.scene_settings import settings_of
from ..state.shown import ReadingView
from .reading_view import MADE_UP, doubt_sentence, reading_view


class FENDERWRIGHT_PT_readings(JobPanel, bpy.types.Panel):
    """Readings by hand, several of the same thing, and their means"""

    bl_label = "Readings"
    bl_order = 15
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        readings = settings.readings
        view = reading_view(session.of_scene(context.scene), settings)
        layout.prop(readings, "kind")
        row = layout.row()
        row.use_property_split = False
        row.prop(readings, "show_drawing", toggle=True, icon="HIDE_OFF" if readings.show_drawing else "HIDE_ON")
        if readings.show_drawing and not view.provisional.is_own:
            draw_text(layout, MADE_UP, "INFO")
        if readings.kind == "height_ahead":
            layout.prop(readings, "second_at")
        if readings.kind == PROFILE:
            _draw_profile(layout, readings)
        else:
            _draw_series(layout, readings, view)


def _draw_series(layout: bpy.types.UILayout, readings: Any, view: ReadingView) -> None:
    kind = READING_KINDS[readings.kind]
    column = layout.column(align=True)
    column.prop(readings, "new_value", text=f"New, {kind.unit}")
    column.operator("fenderwright.add_reading", icon="ADD")
    column = layout.column(align=True)
    for index, entry in enumerate(getattr(readings, kind.name)):
        row = column.row(align=True)
        row.alert = index == view.stray
        row.prop(entry, "value", text=f"Reading {index + 1}")
        remove: Any = row.operator("fenderwright.remove_reading", text="", icon="REMOVE")
        remove.index = index
    draw_rows(layout, view.rows)
    if view.sentence:
        draw_text(layout, view.sentence, "NONE" if view.stray is None else "ERROR")
    if view.doubt is not None:
        draw_text(layout, doubt_sentence(view.doubt))
    row = layout.row(align=True)
    row.operator("fenderwright.take_over_mean", icon="CHECKMARK")
    row.operator("fenderwright.clear_readings", text="", icon="TRASH")


def _draw_profile(layout: bpy.types.UILayout, readings: Any) -> None:
    layout.prop(readings, "profile_way")
    if readings.profile_way == "TRACE":
        _draw_trace(layout, readings)
    else:
        _draw_pairs(layout, readings, PROFILE_LISTS[readings.profile_way])
        if readings.profile_way == "CONTOUR":
            row = layout.row(align=True, heading="Middle of Tread")
            row.prop(readings, "use_middle", text="")
            middle = row.row(align=True)
            middle.active = readings.use_middle
            middle.prop(readings, "middle", text="")
    layout.operator("fenderwright.take_over_profile", icon="CHECKMARK")


def _draw_pairs(layout: bpy.types.UILayout, readings: Any, name: str) -> None:
    column = layout.column(align=True)
    row = column.row(align=True)
    row.label(text=f"{readings.bl_rna.properties[name].name} ({len(getattr(readings, name))})")
    row.operator("fenderwright.add_profile_row", text="", icon="ADD")
    for index, entry in enumerate(getattr(readings, name)):
        row = column.row(align=True)
        row.use_property_split = False
        row.prop(entry, "value", text="")
        remove: Any = row.operator("fenderwright.remove_profile_row", text="", icon="REMOVE")
        remove.index = index


def _draw_trace(layout: bpy.types.UILayout, readings: Any) -> None:
    layout.prop(readings, "picture")
    layout.prop(readings, "trace")
    layout.prop(readings, "known_mm")
    for name in ("known_begin", "known_end"):
        _draw_place(layout, readings, name)
    layout.prop(readings, "use_middle_mark")
    if readings.use_middle_mark:
        _draw_place(layout, readings, "middle_mark")
    layout.prop(readings, "use_distance")
    if readings.use_distance:
        layout.prop(readings, "distance_mm")
        layout.prop(readings, "depth_mm")


def _draw_place(layout: bpy.types.UILayout, readings: Any, name: str) -> None:
    row = layout.row(align=True)
    row.label(text=readings.bl_rna.properties[name].name)
    mark: Any = row.operator("fenderwright.mark_place", text="Mark at 3D Cursor", icon="PIVOT_CURSOR")
    mark.place = name


class FENDERWRIGHT_PT_cross_checks(JobPanel, bpy.types.Panel):
    """Readings held against each other and against the size code"""

    bl_label = "Cross Checks"
    bl_parent_id = "FENDERWRIGHT_PT_readings"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        view = reading_view(session.of_scene(context.scene), settings_of(context.scene))
        if view.problem:
            draw_text(layout, view.problem, "ERROR")
        elif not view.checks:
            draw_text(layout, "Nothing to compare yet: read another thing, such as the circumference.")
        for check in view.checks:
            if check.agrees:
                layout.label(text=f"{check.name[0].upper()}{check.name[1:]}", icon="CHECKMARK")
            else:
                draw_text(layout, f"{check.sentence[0].upper()}{check.sentence[1:]}", "ERROR")


CLASSES = (FENDERWRIGHT_PT_readings, FENDERWRIGHT_PT_cross_checks)
