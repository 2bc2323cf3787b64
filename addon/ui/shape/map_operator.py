# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that keep the maps of clearance, wall and draft as meshes."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.clearance.hardware_clearance import hardware_excess
from ...core.colors.clearance_map import LegendStep
from ...core.colors.draft_colors import draft_legend
from ...core.colors.wall_colors import wall_legend
from ...core.laminate.mold_drafts import point_drafts
from ...core.shaping.shaper import Hold
from ...core.skin.skin import full_skin, skin
from ...core.tables.printed_wall import least_wall
from ...core.wall.wall_map import wall_map
from ...host.bent_object import remove_bent_object
from ...host.map_object import make_draft_map_object, make_map_object, make_wall_map_object, remove_build_maps
from ...host.part_objects import has_parts, parts_are_shown, show_skin_or_solid
from ..base.cage_operator import CageOperator
from ..state import session
from ..state.scene_settings import settings_of
from ..state.shown import said_place
from ..watch.live import live_step


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
                whole,
                state.facts.field.excess(whole.points),
                hardware_excess(state.facts.hardware),
                state.facts.budget.required_mm,
                context.scene.collection,
            )
        self.report({"INFO"}, f"Made {made.name} with {len(whole.points)} points")
        return {"FINISHED"}


class FENDERWRIGHT_OT_show_wall(CageOperator, bpy.types.Operator):
    """Show how thick the wall of the built solid is, as measured on its mesh, or take that away again"""

    bl_idname = "fenderwright.show_wall"
    bl_label = "Show Wall"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        if session.of_scene(context.scene).body is None:
            cls.poll_message_set("Build the solid first")
            return False
        return cls.in_object_mode(context)

    def execute(self, context: bpy.types.Context) -> set[Any]:
        state, scene = session.of_scene(context.scene), context.scene
        assert state.body is not None  # as poll has seen to
        if take_map_away(context) == "wall":
            return {"FINISHED"}
        shown, least = wall_map(state.body), least_wall(settings_of(scene).printer.nozzle)
        with session.OwnChange():
            make_wall_map_object(shown, least, scene.collection)
        show_in_place(context, "wall", wall_legend(shown.thickness, least), ("Thickness of", "the wall, mm"))
        self.report(
            {"INFO"}, f"The wall is least, {shown.least_mm:.2f} mm, at {said_place(shown.place)}; {least:.1f} mm can be printed"
        )
        return {"FINISHED"}


class FENDERWRIGHT_OT_show_draft(CageOperator, bpy.types.Operator):
    """Show how much draft the laminated part has against the pull of its mold, or take that away again"""

    bl_idname = "fenderwright.show_draft"
    bl_label = "Show Draft"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        state = session.of_scene(context.scene)
        if state.laminated is None and state.map_shown != "draft":
            cls.poll_message_set("Turn the laminate on and build the solid first")
            return False
        return cls.in_object_mode(context)

    def execute(self, context: bpy.types.Context) -> set[Any]:
        state, scene = session.of_scene(context.scene), context.scene
        laminated = state.laminated
        if take_map_away(context) == "draft" or laminated is None:
            return {"FINISHED"}
        with session.OwnChange():
            make_draft_map_object(
                laminated.face, point_drafts(laminated.face, laminated.drafts), laminated.drafts, scene.collection
            )
        show_in_place(context, "draft", draft_legend(), ("Draft against", "the pull, deg"))
        worst = min(laminated.drafts, key=lambda piece: piece.draft.least).draft
        under = sum(piece.draft.undercut for piece in laminated.drafts) / 100.0
        self.report(
            {"INFO"}, f"The least draft is {worst.least:.1f} deg at {said_place(worst.place)}; undercut are {under:.1f} cm2"
        )
        return {"FINISHED"}


def show_in_place(context: bpy.types.Context, name: str, legend: tuple[LegendStep, ...], title: tuple[str, ...]) -> None:
    """Put cage, clearance map and pieces aside for the map that was just made, and tell what its colors mean."""
    state = session.of_scene(context.scene)
    state.map_shown, state.map_legend, state.map_title = name, legend, title
    put_aside(context, True)


def take_map_away(context: bpy.types.Context) -> str:
    """Remove the map of wall or draft, or the bent fender, and bring back what was put aside for it; which one was shown, "" for none."""
    state = session.of_scene(context.scene)
    shown = state.map_shown
    if shown:
        with session.OwnChange():
            remove_build_maps(context.scene.collection)
            remove_bent_object(context.scene)
        put_aside(context, False)
        state.map_shown, state.map_legend, state.map_title = "", (), ()
    return shown


def put_aside(context: bpy.types.Context, aside: bool) -> None:
    """Hide cage, clearance map and pieces, which stand where the wall is shown, and color by vertices; or show the pieces."""
    with session.OwnChange():
        show_skin_or_solid(context.scene, settings_of(context.scene).cage_object, "wall" if aside else "solid")
    for area in context.screen.areas if context.screen is not None else ():
        if area.type == "VIEW_3D":
            space: Any = area.spaces.active
            space.shading.color_type = "VERTEX" if aside else "OBJECT"


class FENDERWRIGHT_OT_show_skin(CageOperator, bpy.types.Operator):
    """Show the skin to go on shaping, or the solid again; they lie in the same place"""

    bl_idname = "fenderwright.show_skin"
    bl_label = "Show Skin or Solid"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        if not has_parts(context.scene):
            cls.poll_message_set("Build the solid first")
            return False
        return cls.in_object_mode(context)

    def execute(self, context: bpy.types.Context) -> set[Any]:
        take_map_away(context)
        cage = settings_of(context.scene).cage_object
        skin = parts_are_shown(context.scene)
        with session.OwnChange():
            show_skin_or_solid(context.scene, cage, "skin" if skin else "solid")
        if skin and cage.visible_get():
            cage.select_set(True)
            context.view_layer.objects.active = cage
        return {"FINISHED"}


CLASSES = (FENDERWRIGHT_OT_bake_map, FENDERWRIGHT_OT_show_wall, FENDERWRIGHT_OT_show_draft, FENDERWRIGHT_OT_show_skin)
