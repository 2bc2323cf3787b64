# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that keep the maps of clearance and wall as meshes."""

from __future__ import annotations

from typing import Any

import bpy

from ..core.shaper import Hold
from ..core.skin import full_skin, skin
from ..core.solid.wall_map import wall_map
from ..core.tables.printed_wall import least_wall
from ..host.map_object import make_map_object, make_wall_map_object
from ..host.part_objects import hide_parts
from . import session
from .live import live_step
from .readout import said_place
from .settings import settings_of
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


class FENDERWRIGHT_OT_show_wall(CageOperator, bpy.types.Operator):
    """Show how thick the wall of the built solid is, as measured on its mesh, with a mark where it is least"""

    bl_idname = "fenderwright.show_wall"
    bl_label = "Show Wall"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        if session.of_scene(context.scene).body is not None:
            return True
        cls.poll_message_set("Build the solid first")
        return False

    def execute(self, context: bpy.types.Context) -> set[Any]:
        state = session.of_scene(context.scene)
        assert state.body is not None  # as poll has seen to
        shown, least = wall_map(state.body), least_wall(settings_of(context.scene).printer.nozzle)
        with session.OwnChange():
            made = make_wall_map_object(shown, least, context.scene.collection)
            _show_alone(context, made)
        self.report({"INFO"}, f"The wall is least, {shown.least_mm:.2f} mm, at {said_place(shown.place)}; {least:.1f} mm can be printed")
        return {"FINISHED"}


def _show_alone(context: bpy.types.Context, made: bpy.types.Object) -> None:
    """Colors of the map in all 3D views of the screen, and the pieces out of its way."""
    hide_parts(context.scene)
    for area in context.screen.areas if context.screen is not None else ():
        if area.type == "VIEW_3D":
            space: Any = area.spaces.active
            space.shading.color_type = "VERTEX"
    for ob in context.selected_objects:
        ob.select_set(False)
    made.select_set(True)
    context.view_layer.objects.active = made


CLASSES = (FENDERWRIGHT_OT_bake_map, FENDERWRIGHT_OT_show_wall)
