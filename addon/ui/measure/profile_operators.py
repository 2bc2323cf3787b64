# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that turn caliper widths, contour points or a traced outline into the profile of the job sheet."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np

from ...core.base.errors import JobError
from ...core.readings.profile_entry import ProfileEntry, profile_from_contour, profile_from_photograph, profile_from_widths
from ...host.traced_outline import KEY, picture_pixels, traced_points
from ..properties.reading_properties import PROFILE_LISTS
from ..state import session
from ..state.job_values import plain
from ..state.scene_settings import settings_of

_PLACES = (
    ("known_begin", "Known Length Begins", "Where the known length begins"),
    ("known_end", "Known Length Ends", "Where the known length ends"),
    ("middle_mark", "Middle of Tread", "Where the middle of the tread is"),
)


class _ProfileListOperator:
    """Operators on the rows of the chosen way."""

    bl_options = {"REGISTER", "UNDO", "INTERNAL"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if context.scene is not None and settings_of(context.scene).readings.profile_way in PROFILE_LISTS:
            return True
        cls.poll_message_set("A photograph has no rows, trace it instead")  # type: ignore[attr-defined]
        return False

    def rows(self, context: bpy.types.Context) -> Any:
        readings = settings_of(context.scene).readings
        return getattr(readings, PROFILE_LISTS[readings.profile_way])


class FENDERWRIGHT_OT_add_profile_row(_ProfileListOperator, bpy.types.Operator):
    """Add a row"""

    bl_idname = "fenderwright.add_profile_row"
    bl_label = "Add Row"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        self.rows(context).add()
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_profile_row(_ProfileListOperator, bpy.types.Operator):
    """Remove this row"""

    bl_idname = "fenderwright.remove_profile_row"
    bl_label = "Remove Row"

    index: bpy.props.IntProperty(min=0, options={"HIDDEN"})  # type: ignore[valid-type]

    def execute(self, context: bpy.types.Context) -> set[Any]:
        rows = self.rows(context)
        if self.index >= len(rows):
            self.report({"ERROR"}, f"There is no row {self.index + 1}")
            return {"CANCELLED"}
        rows.remove(self.index)
        return {"FINISHED"}


class FENDERWRIGHT_OT_mark_place(bpy.types.Operator):
    """Take the place of the 3D cursor"""

    bl_idname = "fenderwright.mark_place"
    bl_label = "Mark at 3D Cursor"
    bl_options = {"REGISTER", "UNDO"}

    place: bpy.props.EnumProperty(name="Place", description="What is marked", items=_PLACES)  # type: ignore[valid-type]

    def execute(self, context: bpy.types.Context) -> set[Any]:
        readings = settings_of(context.scene).readings
        setattr(readings, self.place, context.scene.cursor.location)
        if self.place == "middle_mark":
            readings.use_middle_mark = True
        return {"FINISHED"}


class FENDERWRIGHT_OT_take_over_profile(bpy.types.Operator):
    """Put the profile that was read into the job sheet"""

    bl_idname = "fenderwright.take_over_profile"
    bl_label = "Use Profile"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        try:
            entry = _WAYS[settings.readings.profile_way](settings.readings, context)
        except JobError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        settings.tire.profile.clear()
        for row in np.round(entry.rows, 2).tolist():
            settings.tire.profile.add().value = row
        settings.tire.use_profile = True
        session.mark_job_changed(context.scene)
        for sentence in entry.warnings:
            self.report({"WARNING"}, f"{sentence[0].upper()}{sentence[1:]}")
        offset, drop = entry.rows[-1].tolist()
        alike = "" if entry.asymmetry is None else f", left and right alike within {entry.asymmetry:.1f} mm"
        self.report({"INFO"}, f"Profile of {len(entry.rows)} points out to {offset:.1f} mm, {drop:.1f} mm below the crown{alike}")
        return {"FINISHED"}


def _pairs(rows: Any) -> list[list[float]]:
    return [[plain(value) for value in row.value] for row in rows]


def _from_widths(readings: Any, context: bpy.types.Context) -> ProfileEntry:
    return profile_from_widths(_pairs(readings.widths))


def _from_contour(readings: Any, context: bpy.types.Context) -> ProfileEntry:
    across, up = (plain(value) for value in readings.middle)
    return profile_from_contour(_pairs(readings.contour), center=(across, up) if readings.use_middle else None)


def _from_trace(readings: Any, context: bpy.types.Context) -> ProfileEntry:
    picture, trace = readings.picture, readings.trace
    if picture is None or trace is None:
        raise JobError(KEY, f"choose {'the photograph' if picture is None else 'the traced outline'} first")
    points = traced_points(trace, context.evaluated_depsgraph_get())
    ends = picture_pixels(picture, [list(readings.known_begin), list(readings.known_end)], "the known length")
    center = None
    if readings.use_middle_mark:
        right, down = picture_pixels(picture, [list(readings.middle_mark)], "the mark of the middle")[0].tolist()
        center = (right, down)
    return profile_from_photograph(
        picture_pixels(picture, points, trace.name),
        ends,
        plain(readings.known_mm),
        center=center,
        distance_mm=plain(readings.distance_mm) if readings.use_distance else None,
        depth_mm=plain(readings.depth_mm) if readings.use_distance else 0.0,
    )


_WAYS = {"WIDTHS": _from_widths, "CONTOUR": _from_contour, "TRACE": _from_trace}

CLASSES = (
    FENDERWRIGHT_OT_add_profile_row,
    FENDERWRIGHT_OT_remove_profile_row,
    FENDERWRIGHT_OT_mark_place,
    FENDERWRIGHT_OT_take_over_profile,
)
