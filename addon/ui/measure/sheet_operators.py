# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that fill, save and edit the job sheet of the scene."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import bpy
from bpy_extras.io_utils import ExportHelper, ImportHelper

from ...core.base.errors import JobError
from ...core.job.job_sheet import SECTIONS, TABLES, read_job_sheet
from ...output.sheet_file import write_sheet
from ..base.table_rows import RemoveRowOperator, active_row, add_row
from ..state import session
from ..state.job_values import read_job, write_job
from ..state.scene_settings import settings_of


class FENDERWRIGHT_OT_load_sheet(bpy.types.Operator, ImportHelper):
    """Fill the panels from a job sheet"""

    bl_idname = "fenderwright.load_sheet"
    bl_label = "Load Sheet"
    bl_options = {"REGISTER", "UNDO"}

    filter_glob: bpy.props.StringProperty(default="*.toml", options={"HIDDEN"})  # type: ignore[valid-type]
    if TYPE_CHECKING:
        filepath: str

    def execute(self, context: bpy.types.Context) -> set[Any]:
        try:
            job = read_job_sheet(Path(self.filepath))
        except JobError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        write_job(settings_of(context.scene), job)
        session.mark_job_changed(context.scene)
        self.report({"INFO"}, f"Loaded the sheet of {job.name}")
        return {"FINISHED"}


class FENDERWRIGHT_OT_save_sheet(bpy.types.Operator, ExportHelper):
    """Write the present values as a job sheet"""

    bl_idname = "fenderwright.save_sheet"
    bl_label = "Save Sheet"
    bl_options = {"REGISTER"}

    filename_ext = ".toml"
    filter_glob: bpy.props.StringProperty(default="*.toml", options={"HIDDEN"})  # type: ignore[valid-type]
    if TYPE_CHECKING:
        filepath: str

    def execute(self, context: bpy.types.Context) -> set[Any]:
        try:
            write_sheet(Path(self.filepath), read_job(settings_of(context.scene)))
        except (JobError, OSError) as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        self.report({"INFO"}, f"Wrote {self.filepath}")
        return {"FINISHED"}


class _ListOperator:
    """A list of the sheet: section, or table with the entry that is shown, and name of its property."""

    bl_options = {"REGISTER", "UNDO", "INTERNAL"}

    section: bpy.props.StringProperty(options={"HIDDEN"})  # type: ignore[valid-type]
    list_name: bpy.props.StringProperty(options={"HIDDEN"})  # type: ignore[valid-type]

    def entries(self, context: bpy.types.Context) -> Any:
        """The list, or None if there is no such one."""
        settings = settings_of(context.scene)
        if self.section in SECTIONS:
            group = getattr(settings, self.section)
        elif self.section in TABLES:
            group = active_row(settings, self.section)
        else:
            return None
        entries = getattr(group, self.list_name, None)
        return entries if hasattr(entries, "add") else None


class FENDERWRIGHT_OT_add_entry(_ListOperator, bpy.types.Operator):
    """Add an entry to the list"""

    bl_idname = "fenderwright.add_entry"
    bl_label = "Add Entry"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        entries = self.entries(context)
        if entries is None:
            self.report({"ERROR"}, f"{self.section}.{self.list_name} is not a list of the job sheet")
            return {"CANCELLED"}
        entries.add()
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_entry(_ListOperator, bpy.types.Operator):
    """Remove this entry from the list"""

    bl_idname = "fenderwright.remove_entry"
    bl_label = "Remove Entry"

    index: bpy.props.IntProperty(min=0, options={"HIDDEN"})  # type: ignore[valid-type]

    def execute(self, context: bpy.types.Context) -> set[Any]:
        entries = self.entries(context)
        if entries is None or self.index >= len(entries):
            self.report({"ERROR"}, f"{self.section}.{self.list_name} has no entry {self.index}")
            return {"CANCELLED"}
        entries.remove(self.index)
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_add_keepout(bpy.types.Operator):
    """Add a body to stay away from"""

    bl_idname = "fenderwright.add_keepout"
    bl_label = "Add Keep-Out"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> set[Any]:
        add_row(settings_of(context.scene), "keepout", "keep-out")
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_keepout(RemoveRowOperator, bpy.types.Operator):
    """Remove the keep-out that is shown"""

    bl_idname = "fenderwright.remove_keepout"
    bl_label = "Remove Keep-Out"
    table, called = "keepout", "keep-out"


CLASSES = (
    FENDERWRIGHT_OT_load_sheet,
    FENDERWRIGHT_OT_save_sheet,
    FENDERWRIGHT_OT_add_entry,
    FENDERWRIGHT_OT_remove_entry,
    FENDERWRIGHT_OT_add_keepout,
    FENDERWRIGHT_OT_remove_keepout,
)
