# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that edit the trim of the job sheet."""

from __future__ import annotations

from typing import Any

import bpy

from . import session
from .settings import settings_of


def active_line(settings: Any) -> Any:
    """The trim line that is shown, or None."""
    return settings.trim_lines[settings.active_trim_line] if settings.active_trim_line < len(settings.trim_lines) else None


def _free_name(used: set[str], what: str) -> str:
    return next(name for name in (f"{what} {i}" for i in range(1, len(used) + 2)) if name not in used)


class _TrimOperator:
    bl_options = {"REGISTER", "UNDO"}


class _LineOperator(_TrimOperator):
    """Operators that need a line."""

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if context.scene is not None and active_line(settings_of(context.scene)) is not None:
            return True
        cls.poll_message_set("There is no trim line")  # type: ignore[attr-defined]
        return False


class FENDERWRIGHT_OT_add_trim_line(_TrimOperator, bpy.types.Operator):
    """Add a line at an even drop below the crown, from end to end"""

    bl_idname = "fenderwright.add_trim_line"
    bl_label = "Add Trim Line"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        facts = session.of_scene(context.scene).facts
        rear, front, drop = (-20.0, 20.0, 30.0)
        if facts is not None:
            rear, front, drop = facts.job.cage.rear, facts.job.cage.front, facts.job.cage.side_drop
        line = settings.trim_lines.add()
        line.name = _free_name({other.name for other in settings.trim_lines}, "line")
        line.view = "drop"
        for station in (rear, front):
            line.points.add().value = (station, drop)
        settings.active_trim_line = len(settings.trim_lines) - 1
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_trim_line(_LineOperator, bpy.types.Operator):
    """Remove the line that is shown"""

    bl_idname = "fenderwright.remove_trim_line"
    bl_label = "Remove Trim Line"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        settings.trim_lines.remove(settings.active_trim_line)
        settings.active_trim_line = max(0, min(settings.active_trim_line, len(settings.trim_lines) - 1))
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_add_trim_point(_LineOperator, bpy.types.Operator):
    """Add a point after the last one of the line"""

    bl_idname = "fenderwright.add_trim_point"
    bl_label = "Add Point"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        points = active_line(settings_of(context.scene)).points
        last = tuple(points[-1].value) if len(points) else (0.0, 0.0)
        points.add().value = (last[0] + 10.0, last[1])
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_trim_point(_LineOperator, bpy.types.Operator):
    """Remove this point of the line"""

    bl_idname = "fenderwright.remove_trim_point"
    bl_label = "Remove Point"

    index: bpy.props.IntProperty(min=0, options={"HIDDEN"})  # type: ignore[valid-type]

    def execute(self, context: bpy.types.Context) -> set[Any]:
        points = active_line(settings_of(context.scene)).points
        if self.index >= len(points):
            self.report({"ERROR"}, f"The line has no point {self.index}")
            return {"CANCELLED"}
        points.remove(self.index)
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_add_opening(_TrimOperator, bpy.types.Operator):
    """Add a round opening of 10 mm between the seat and the rear end"""

    bl_idname = "fenderwright.add_opening"
    bl_label = "Add Opening"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        facts = session.of_scene(context.scene).facts
        opening = settings.openings.add()
        opening.name = _free_name({other.name for other in settings.openings}, "opening")
        opening.length = opening.width = 10.0
        opening.station = -30.0 if facts is None else 0.6 * facts.job.cage.rear
        settings.active_opening = len(settings.openings) - 1
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_opening(_TrimOperator, bpy.types.Operator):
    """Remove the opening that is shown"""

    bl_idname = "fenderwright.remove_opening"
    bl_label = "Remove Opening"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if context.scene is not None and len(settings_of(context.scene).openings):
            return True
        cls.poll_message_set("There is no opening")
        return False

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        settings.openings.remove(settings.active_opening)
        settings.active_opening = max(0, min(settings.active_opening, len(settings.openings) - 1))
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


CLASSES = (
    FENDERWRIGHT_OT_add_trim_line,
    FENDERWRIGHT_OT_remove_trim_line,
    FENDERWRIGHT_OT_add_trim_point,
    FENDERWRIGHT_OT_remove_trim_point,
    FENDERWRIGHT_OT_add_opening,
    FENDERWRIGHT_OT_remove_opening,
)
