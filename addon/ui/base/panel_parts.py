# SPDX-License-Identifier: GPL-3.0-or-later
"""Pieces that the panels are made of."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import fields
from typing import Any

import bpy

from ...core.job.job_sheet import SECTIONS, TABLES
from ..state.job_values import is_optional, switch
from .table_rows import active_row

TAB = "Fenderwright"

_LINE, _LINE_BY_ICON = 42, 37
"""Characters of a line of text in a sidebar of the usual width, alone and beside an icon."""


class JobPanel:
    """What all panels share: the sidebar tab of the 3D view."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = TAB
    layout: bpy.types.UILayout

    def prepare(self) -> bpy.types.UILayout:
        """The layout, with labels beside their values."""
        self.layout.use_property_split = True
        self.layout.use_property_decorate = False
        return self.layout


def draw_value(layout: bpy.types.UILayout, group: Any, section: str, name: str) -> None:
    """One value of the job; with a switch before it if the sheet may leave it out."""
    owner = (SECTIONS | TABLES)[section]
    item = next(item for item in fields(owner) if item.name == name)
    if not is_optional(section, item):
        layout.prop(group, name)
        return
    row = layout.row(align=True, heading=_label(group, name))
    row.prop(group, switch(name), text="")
    value = row.row(align=True)
    value.active = getattr(group, switch(name))
    value.prop(group, name, text="")


def draw_values(layout: bpy.types.UILayout, group: Any, section: str, *names: str) -> None:
    """Several values, close together."""
    column = layout.column(align=True)
    for name in names:
        draw_value(column, group, section, name)


def draw_list(layout: bpy.types.UILayout, group: Any, section: str, name: str) -> None:
    """A list of pairs or words with buttons to add and remove entries."""
    column = layout.column(align=True)
    row = column.row(align=True)
    row.label(text=f"{_label(group, name)} ({len(getattr(group, name))})")
    entry_operator(row, "fenderwright.add_entry", section, name, "ADD")
    for index, entry in enumerate(getattr(group, name)):
        row = column.row(align=True)
        row.use_property_split = False
        row.prop(entry, "value", text="")
        entry_operator(row, "fenderwright.remove_entry", section, name, "REMOVE").index = index


def draw_table(layout: bpy.types.UILayout, settings: Any, table: str) -> Any:
    """The rows of a table of the sheet with buttons to add and remove them; the row that is shown, or None."""
    row = layout.row()
    row.template_list("UI_UL_list", f"fenderwright_{table}s", settings, f"{table}s", settings, f"active_{table}", rows=2)
    buttons = row.column(align=True)
    buttons.operator(f"fenderwright.add_{table}", text="", icon="ADD")
    buttons.operator(f"fenderwright.remove_{table}", text="", icon="REMOVE")
    return active_row(settings, table)


def entry_operator(row: bpy.types.UILayout, operator: str, section: str, name: str, icon: Any) -> Any:
    """A button of a list of the sheet; returns its properties."""
    properties: Any = row.operator(operator, text="", icon=icon)
    properties.section, properties.list_name = section, name
    return properties


def _label(group: Any, name: str) -> str:
    return str(group.bl_rna.properties[name].name)


def draw_rows(layout: bpy.types.UILayout, rows: Iterable[tuple[str, str]]) -> None:
    """Labels on the left, values on the right."""
    column = layout.column(align=True)
    for left, right in rows:
        row = column.row()
        row.label(text=left)
        value = row.row()
        value.alignment = "RIGHT"
        value.label(text=right)


def draw_text(layout: bpy.types.UILayout, text: str, icon: Any = "NONE") -> None:
    """A sentence, broken into lines; the icon stands before the first."""
    column = layout.column(align=True)
    column.scale_y = 0.8
    for number, line in enumerate(textwrap.wrap(text, _LINE if icon == "NONE" else _LINE_BY_ICON)):
        column.label(text=line, icon=icon if number == 0 else ("NONE" if icon == "NONE" else "BLANK1"))
