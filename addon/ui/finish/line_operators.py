# SPDX-License-Identifier: GPL-3.0-or-later
"""Lines of the bike: operators and panel."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import bpy

from ...core.base.errors import CageError, JobError
from ...core.lines.follow_lines import follow_lines
from ...core.lines.lines_report import lines_words, matched_lines
from ...host.cage.cage_mesh import read_seat, write_points
from ...host.drawn_line import drawn_line
from ..base.cage_operator import CageOperator
from ..base.panel_parts import JobPanel, draw_list, draw_table, draw_text, draw_values
from ..base.table_rows import RemoveRowOperator, add_row
from ..state import session
from ..state.scene_settings import settings_of
from ..watch.live import live_step

_MOST_SHOWN = 12
"""A line with more points came from a curve."""


class FENDERWRIGHT_OT_add_bike_line(bpy.types.Operator):
    """Add a line of the bike; a curve that is selected gives its points, seen from the side"""

    bl_idname = "fenderwright.add_bike_line"
    bl_label = "Add Bike Line"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> set[Any]:
        curve = context.active_object
        points = [[150.0, 330.0], [-150.0, 330.0]]
        if curve is not None and curve.type == "CURVE" and curve.select_get():
            try:
                points = drawn_line(curve, "side").tolist()
            except JobError as error:
                self.report({"ERROR"}, str(error))
                return {"CANCELLED"}
        row = add_row(settings_of(context.scene), "bike_line", "line")
        for point in points:
            row.points.add().value = point
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_bike_line(RemoveRowOperator, bpy.types.Operator):
    """Remove the line of the bike that is shown"""

    bl_idname = "fenderwright.remove_bike_line"
    bl_label = "Remove Bike Line"
    table, called = "bike_line", "line of the bike"


class _LineOperator(CageOperator):
    """Operators that need a watched cage and a line."""

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        state = session.of_scene(context.scene)
        if not len(settings_of(context.scene).bike_lines):
            cls.poll_message_set("There is no line of the bike")  # type: ignore[attr-defined]
            return False
        if state.shaped is not None and state.facts is not None and state.shaped.clear:
            return True
        cls.poll_message_set("The cage must be watched and clear: complete the sheet, turn Hold on, or restore the clearance")  # type: ignore[attr-defined]
        return False


class FENDERWRIGHT_OT_compare_lines(_LineOperator, bpy.types.Operator):
    """Tell distance, angle and curvature of the fender's lines beside those of the bike"""

    bl_idname = "fenderwright.compare_lines"
    bl_label = "Compare Lines"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        try:
            _tell(context.scene)
        except (CageError, JobError) as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        return {"FINISHED"}


class FENDERWRIGHT_OT_follow_line(_LineOperator, bpy.types.Operator):
    """Bend the fender toward the line that is shown, by the least change of the cage, as far as clearance and seat allow"""

    bl_idname = "fenderwright.follow_line"
    bl_label = "Follow Line"

    share: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Share", description="Share of the way to the line", default=1.0, min=0.0, max=1.0
    )

    def execute(self, context: bpy.types.Context) -> set[Any]:
        scene, settings = context.scene, settings_of(context.scene)
        state, cage = session.of_scene(scene), settings.cage_object
        shaped, facts = state.shaped, state.facts
        assert shaped is not None and facts is not None  # as poll has seen to
        held = session.seat_rows(state, read_seat(cage)) if settings.hold_seat else None
        lines = tuple(
            replace(line, follow=self.share if i == settings.active_bike_line else 0.0)
            for i, line in enumerate(facts.job.bike_lines)
        )
        try:
            bent = follow_lines(shaped.cage, shaped.stencil, facts.field, lines, held)
            with session.OwnChange():
                write_points(cage, bent.points)
            live_step(scene, budget_s=None)
            _tell(scene)
        except (CageError, JobError) as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        self.report({"INFO"}, session.of_scene(scene).line_lines[settings.active_bike_line])
        return {"FINISHED"}


def _tell(scene: bpy.types.Scene) -> None:
    state = session.of_scene(scene)
    assert state.shaped is not None and state.facts is not None
    state.line_lines = lines_words(matched_lines(state.facts.job, state.shaped.cage, state.shaped.stencil))


class FENDERWRIGHT_PT_bike_lines(JobPanel, bpy.types.Panel):
    """Lines of the bike that crown or edge of the fender are to go with"""

    bl_label = "Lines of the Bike"
    bl_parent_id = "FENDERWRIGHT_PT_shaping"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        line = draw_table(layout, settings, "bike_line")
        if line is None:
            draw_text(layout, "Draw a curve along the bike, select it and add it.")
            return
        draw_values(layout, line, "bike_line", "name", "part", "view", "reach", "follow")
        if len(line.points) > _MOST_SHOWN:
            layout.label(text=f"{len(line.points)} points of a curve")
        else:
            draw_list(layout, line, "bike_line", "points")
        column = layout.column(align=True)
        column.operator("fenderwright.compare_lines", icon="DRIVER_DISTANCE")
        column.operator("fenderwright.follow_line", icon="CURVE_PATH")
        for told in session.of_scene(context.scene).line_lines:
            draw_text(layout, told)


CLASSES = (
    FENDERWRIGHT_OT_add_bike_line,
    FENDERWRIGHT_OT_remove_bike_line,
    FENDERWRIGHT_OT_compare_lines,
    FENDERWRIGHT_OT_follow_line,
    FENDERWRIGHT_PT_bike_lines,
)
