# SPDX-License-Identifier: GPL-3.0-or-later
"""Operator that makes a full cage half again."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.skin.half_cage import half_cage, unmirrored
from ...host.cage.cage_mesh import make_cage_object, read_cage, read_seat
from ..base.cage_operator import CageOperator
from ..state import session
from ..state.scene_settings import settings_of
from ..watch.live import live_step

_ON_PLANE_MM = 0.01


class FENDERWRIGHT_OT_make_half(CageOperator, bpy.types.Operator):
    """Keep the half on the rider's left, mirror it, and tell what the two sides differed by"""

    bl_idname = "fenderwright.make_half"
    bl_label = "Make Half"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        ob = settings_of(context.scene).cage_object
        if ob.type != "MESH" or ob.mode != "OBJECT":
            self.report({"ERROR"}, f"{ob.name}: leave edit mode first" if ob.type == "MESH" else f"{ob.name}: is no mesh")
            return {"CANCELLED"}
        full = unmirrored(read_cage(ob))
        if full.points[:, 0].min(initial=0.0) >= -_ON_PLANE_MM:
            self.report({"INFO"}, f"{ob.name} is a half already")
            return {"FINISHED"}
        try:
            half = half_cage(full, _ON_PLANE_MM)
        except ValueError as error:
            self.report({"ERROR"}, f"{ob.name}: {error}")
            return {"CANCELLED"}
        facts = session.of_scene(context.scene).facts
        with session.OwnChange():
            made = make_cage_object(
                half.cage,
                ob.name,
                context.scene.collection,
                level=4 if facts is None else facts.job.cage.level,
                seat=read_seat(ob)[half.kept],
            )
            ob.hide_viewport = True
            settings_of(context.scene).cage_object = made
        context.view_layer.objects.active = made
        live_step(context.scene, budget_s=None)
        self.report(
            {"INFO"},
            f"Made half: partners of the two sides differed by up to {half.largest_mm:.2f} mm, "
            f"{half.without_partner} points had none; the full cage is kept, hidden",
        )
        return {"FINISHED"}


CLASSES = (FENDERWRIGHT_OT_make_half,)
