# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that collect hand readings and take their means over into the job sheet."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.readings.reading_checks import sets_gap
from ...core.readings.reading_kinds import READING_KINDS
from ..properties.job_labels import LABELS
from ..properties.reading_properties import PROFILE
from ..state import session
from ..state.job_values import plain, switch
from ..state.scene_settings import settings_of
from .reading_view import reading_view

_MAY_BE_ZERO = ("ahead", "tilt")


class _SeriesOperator:
    """Operators on the series of the chosen reading."""

    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if context.scene is not None and settings_of(context.scene).readings.kind != PROFILE:
            return True
        cls.poll_message_set("A profile is no series of readings, it is entered below")  # type: ignore[attr-defined]
        return False


class _FilledSeriesOperator(_SeriesOperator):
    """Operators that need a reading."""

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        readings = settings_of(context.scene).readings
        if len(getattr(readings, readings.kind)):
            return True
        cls.poll_message_set("There is no reading yet, add one first")  # type: ignore[attr-defined]
        return False


class FENDERWRIGHT_OT_add_reading(_SeriesOperator, bpy.types.Operator):
    """Add the new reading to those of the same thing"""

    bl_idname = "fenderwright.add_reading"
    bl_label = "Add Reading"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        readings = settings_of(context.scene).readings
        kind, value = READING_KINDS[readings.kind], plain(readings.new_value)
        if value <= 0.0 and kind.name not in _MAY_BE_ZERO:
            self.report({"ERROR"}, f"{kind.label}: {value:g} {kind.unit} is no reading; it must be more than 0")
            return {"CANCELLED"}
        getattr(readings, kind.name).add().value = value
        sentence = reading_view(session.of_scene(context.scene), settings_of(context.scene)).sentence
        self.report({"INFO"}, sentence)
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_reading(_FilledSeriesOperator, bpy.types.Operator):
    """Remove this reading"""

    bl_idname = "fenderwright.remove_reading"
    bl_label = "Remove Reading"

    index: bpy.props.IntProperty(min=0, options={"HIDDEN"})  # type: ignore[valid-type]

    def execute(self, context: bpy.types.Context) -> set[Any]:
        readings = settings_of(context.scene).readings
        series = getattr(readings, readings.kind)
        if self.index >= len(series):
            self.report({"ERROR"}, f"{READING_KINDS[readings.kind].label}: there is no reading {self.index + 1}")
            return {"CANCELLED"}
        series.remove(self.index)
        return {"FINISHED"}


class FENDERWRIGHT_OT_clear_readings(_FilledSeriesOperator, bpy.types.Operator):
    """Remove all readings of this thing"""

    bl_idname = "fenderwright.clear_readings"
    bl_label = "Clear Readings"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        readings = settings_of(context.scene).readings
        getattr(readings, readings.kind).clear()
        return {"FINISHED"}


class FENDERWRIGHT_OT_take_over_mean(_FilledSeriesOperator, bpy.types.Operator):
    """Put the mean of the readings into the job sheet, and their doubt into its budget"""

    bl_idname = "fenderwright.take_over_mean"
    bl_label = "Use Average"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        if READING_KINDS[settings_of(context.scene).readings.kind].key is not None:
            return True
        cls.poll_message_set("This reading only checks others, the sheet has no place for it")
        return False

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        state = session.of_scene(context.scene)
        kind, view = READING_KINDS[settings.readings.kind], reading_view(state, settings)
        assert kind.key is not None  # as poll has seen to
        section, name = kind.key
        group, value = getattr(settings, section), kind.sheet_value(view.combined[kind.name].mean)
        setattr(group, name, value)
        if switch(name) in group.bl_rna.properties:
            setattr(group, switch(name), True)
        said = f"{LABELS[f'{section}.{name}'][0]} is {value:g} now"
        if view.doubt is not None and sets_gap(kind.name):
            settings.tire.use_sigma, settings.tire.sigma = True, view.doubt.sigma
            said += f", reading uncertainty {view.doubt.sigma:.2f} mm"
        session.mark_job_changed(context.scene)
        problem = session.of_scene(context.scene).problem
        if problem.startswith(f"{section}.{name}"):
            self.report({"WARNING"}, f"{said}; {problem}")
        else:
            self.report({"INFO"}, said)
        return {"FINISHED"}


CLASSES = (
    FENDERWRIGHT_OT_add_reading,
    FENDERWRIGHT_OT_remove_reading,
    FENDERWRIGHT_OT_clear_readings,
    FENDERWRIGHT_OT_take_over_mean,
)
