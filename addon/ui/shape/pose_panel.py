# SPDX-License-Identifier: GPL-3.0-or-later
"""Sliders that move tire and keep-outs through travel and steering, and a button that plays all of it."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.clearance.pose_clearance import PoseClearance, pose_path
from ...core.clearance.worst_pose import pose_words
from ...pipeline.steps import Steps
from ..base.panel_parts import JobPanel, draw_rows, draw_text
from ..base.step_operator import StepOperator
from ..state import session
from ..state.bike_pose import NOTHING_MOVES, anything_moves, pose_of, ranges_of, show_pose
from ..state.scene_settings import settings_of

_STEPS = 12


class FENDERWRIGHT_OT_play_pose(StepOperator, bpy.types.Operator):
    """Move tire and keep-outs once through all travel and steering, and tell the least clearance on the way"""

    bl_idname = "fenderwright.play_pose"
    bl_label = "Play"
    step_count = 6 * _STEPS

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        state = session.of_scene(context.scene)
        if not anything_moves(state):
            cls.poll_message_set(NOTHING_MOVES)
            return False
        if state.shaped is not None:
            return True
        cls.poll_message_set("Seed a cage, or choose one in Cage Object, first")
        return False

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[Any]:
        return self.begin_stepping(context)

    def steps(self, context: bpy.types.Context) -> Steps[str]:
        facts = session.of_scene(context.scene).facts
        assert facts is not None  # as poll has seen to
        least: PoseClearance | None = None
        at = ""
        try:
            for pose in pose_path(*ranges_of(facts), _STEPS):
                found = show_pose(context.scene, pose)
                if found is not None and (least is None or found.excess_mm < least.excess_mm):
                    least, at = found, pose_words(pose)
                session.redraw_views()
                yield pose_words(pose)
        finally:
            show_pose(context.scene)
        return "Nothing moved" if least is None else f"Least clearance {least.mm:.1f} mm to the {least.name}, at {at}"


class FENDERWRIGHT_PT_pose(JobPanel, bpy.types.Panel):
    """Tire and keep-outs at a pose of the bike"""

    bl_label = "Motion"
    bl_parent_id = "FENDERWRIGHT_PT_shaping"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings, state = settings_of(context.scene), session.of_scene(context.scene)
        moving = anything_moves(state)
        if not moving:
            draw_text(layout, NOTHING_MOVES, "INFO")
        column = layout.column(align=True)
        column.active = moving
        for name in ("pose_travel", "pose_rebound", "pose_steering"):
            column.prop(settings, name, slider=True)
        layout.operator("fenderwright.play_pose", icon="PLAY")
        if moving and state.facts is not None:
            rows = [("Pose", pose_words(pose_of(context.scene, state.facts)))]
            if state.pose is not None:
                rows.append(("Clearance", f"{state.pose.mm:.1f} mm to the {state.pose.name}"))
                rows.append(("To Spare", f"{state.pose.excess_mm:+.1f} mm"))
            draw_rows(layout, rows)


CLASSES = (FENDERWRIGHT_OT_play_pose, FENDERWRIGHT_PT_pose)
