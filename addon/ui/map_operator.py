# SPDX-License-Identifier: GPL-3.0-or-later
"""Operator that keeps the clearance map as a mesh."""

from __future__ import annotations

from typing import Any

import bpy

from ..core.shaper import Hold
from ..core.skin import full_skin, skin
from ..host.map_object import make_map_object
from . import session
from .live import live_step
from .shape_operators import CageOperator


class FENDERWRIGHT_OT_bake_map(CageOperator, bpy.types.Operator):
    """Make a mesh of the skin that carries the clearance as an attribute and as colors"""

    bl_idname = "fenderwright.bake_map"
    bl_label = "Bake Clearance Map"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        state = live_step(context.scene, hold=Hold.WARN)
        if state.shaped is None or state.facts is None:
            self.report({"ERROR"}, state.problem or "; ".join(problem.sentence for problem in state.problems))
            return {"CANCELLED"}
        whole = full_skin(skin(state.shaped.cage, state.shaped.stencil))
        with session.OwnChange():
            made = make_map_object(
                whole, state.facts.field.excess(whole.points), state.facts.budget.required_mm, context.scene.collection
            )
        self.report({"INFO"}, f"Made {made.name} with {len(whole.points)} points")
        return {"FINISHED"}


CLASSES = (FENDERWRIGHT_OT_bake_map,)
