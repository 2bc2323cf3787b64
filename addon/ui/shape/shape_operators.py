# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators on the cage: seed it, restore its clearance, mend it, make it a half again."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.base.errors import CageError, JobError
from ...core.shaping.seed import seed_cage
from ...core.shaping.shaper import Hold
from ...host.cage.cage_object_problems import fineness_problems, is_in_scene
from ...host.cage.cage_repair import repair
from ..base.cage_operator import CageOperator
from ..state import session
from ..state.scene_settings import settings_of
from ..watch.live import live_step, refusal
from ..watch.things import look
from .scene_setup import look_in_all_views, place_cage


class FENDERWRIGHT_OT_seed_cage(bpy.types.Operator):
    """Make a new cage that hangs from the mount and is clear of the tire"""

    bl_idname = "fenderwright.seed_cage"
    bl_label = "Seed Cage"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if context.mode == "OBJECT":
            return True
        cls.poll_message_set("Leave edit mode first")
        return False

    def execute(self, context: bpy.types.Context) -> set[Any]:
        state = look(context.scene)
        if state.facts is None:
            self.report({"ERROR"}, state.problem)
            return {"CANCELLED"}
        try:
            seed = seed_cage(state.facts.job, state.facts.field)
        except (CageError, JobError) as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        is_first = settings_of(context.scene).cage_object is None
        cage = place_cage(context.scene, state.facts.job, seed)
        if is_first:
            look_in_all_views()
        for ob in context.selected_objects:
            ob.select_set(False)
        cage.select_set(True)
        context.view_layer.objects.active = cage
        live_step(context.scene, budget_s=None)
        self.report({"INFO"}, f"Seeded a clear cage; its skin is within {seed.seat_max_mm:.1f} mm of the seat")
        return {"FINISHED"}


class FENDERWRIGHT_OT_restore_clearance(CageOperator, bpy.types.Operator):
    """Move the cage by as little as possible until its skin is clear"""

    bl_idname = "fenderwright.restore_clearance"
    bl_label = "Restore Clearance"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        state = live_step(context.scene, hold=Hold.HOLD, budget_s=None)
        if state.shaped is None:
            self.report({"ERROR"}, state.problem or "; ".join(problem.sentence for problem in state.problems))
            return {"CANCELLED"}
        if not state.shaped.clear:
            self.report({"ERROR"}, refusal(state.shaped))
            return {"CANCELLED"}
        self.report({"INFO"}, f"Clear, with {state.shaped.worst.excess_mm:.2f} mm to spare to the {state.shaped.worst.name}")
        return {"FINISHED"}


class FENDERWRIGHT_OT_repair_cage(CageOperator, bpy.types.Operator):
    """Bring the cage back, apply its transform and restore its modifiers, so that it can be shaped again"""

    bl_idname = "fenderwright.repair_cage"
    bl_label = "Repair Cage"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        cage = settings_of(context.scene).cage_object
        facts = session.of_scene(context.scene).facts
        level = 4 if facts is None else facts.job.cage.level
        too_fine = fineness_problems(cage, level) if cage.type == "MESH" else []
        if too_fine:
            self.report({"ERROR"}, too_fine[0].sentence)
            return {"CANCELLED"}
        with session.OwnChange():
            if not is_in_scene(cage, context.scene):
                context.scene.collection.objects.link(cage)
            left = repair(cage, level)
        live_step(context.scene, budget_s=None)
        if left:
            self.report({"WARNING"}, "; ".join(problem.sentence for problem in left))
        else:
            self.report({"INFO"}, f"{cage.name} is in order")
        return {"FINISHED"}


CLASSES = (FENDERWRIGHT_OT_seed_cage, FENDERWRIGHT_OT_restore_clearance, FENDERWRIGHT_OT_repair_cage)
