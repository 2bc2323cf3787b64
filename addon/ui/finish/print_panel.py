# SPDX-License-Identifier: GPL-3.0-or-later
"""Panel of the ways to print each piece, and the operators that pick one."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.base.errors import JobError
from ...core.printing.print_plan import PrintOption, PrintPlan
from ..base.panel_parts import JobPanel, draw_text
from ..state import session
from ..state.scene_settings import settings_of


def _lay_of(settings: Any, piece: str) -> Any:
    return next((lay for lay in settings.lays if lay.name == piece), None)


def _picked(settings: Any, plan: PrintPlan) -> int | None:
    """The option that the scene picks; None if what it picks is none of them."""
    lay = _lay_of(settings, plan.piece)
    try:
        return plan.nearest(lay.up) if lay is not None else 0
    except JobError:
        return None


class FENDERWRIGHT_OT_pick_way(bpy.types.Operator):
    """Print this piece that way; files written from now on carry it"""

    bl_idname = "fenderwright.pick_way"
    bl_label = "Pick Orientation"
    bl_options = {"REGISTER", "UNDO"}

    piece: bpy.props.StringProperty(name="Piece", description="Piece that is printed so", options={"HIDDEN"})  # type: ignore[valid-type]
    index: bpy.props.IntProperty(name="Way", description="Number of the way in the piece's list", min=0, options={"HIDDEN"})  # type: ignore[valid-type]

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return _are_ways_known(cls, context)

    def execute(self, context: bpy.types.Context) -> set[Any]:
        plan = next((plan for plan in session.of_scene(context.scene).plans if plan.piece == self.piece), None)
        if plan is None or self.index >= len(plan.options):
            self.report({"ERROR"}, f"{self.piece or 'No piece'}: has no way {self.index} to be printed; build the solid first")
            return {"CANCELLED"}
        settings = settings_of(context.scene)
        lay = _lay_of(settings, self.piece) or settings.lays.add()
        lay.name, lay.up = self.piece, plan.options[self.index].fit.rotation[2].tolist()
        self.report({"INFO"}, f"The {self.piece} piece is printed {plan.options[self.index].name}")
        return {"FINISHED"}


class FENDERWRIGHT_OT_take_best_ways(bpy.types.Operator):
    """Forget the ways that were picked, so that each piece takes the best one"""

    bl_idname = "fenderwright.take_best_ways"
    bl_label = "Use Best Orientations"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if context.scene is not None and len(settings_of(context.scene).lays):
            return True
        cls.poll_message_set("No way was picked")
        return False

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings_of(context.scene).lays.clear()
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


def _are_ways_known(cls: Any, context: bpy.types.Context) -> bool:
    if context.scene is not None and session.of_scene(context.scene).plans:
        return True
    cls.poll_message_set("Build the solid first")
    return False


class FENDERWRIGHT_PT_ways_to_print(JobPanel, bpy.types.Panel):
    """How each piece may lie on the printer's bed, best first"""

    bl_label = "Print Orientation"
    bl_parent_id = "FENDERWRIGHT_PT_finish"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings, plans = settings_of(context.scene), session.of_scene(context.scene).plans
        if not plans:
            draw_text(layout, "Build the solid to see them.")
        for plan in plans:
            layout.label(text=f"{plan.piece.title()} Piece: height, plastic, time")
            _draw_plan(layout, plan, _picked(settings, plan))
        layout.operator("fenderwright.take_best_ways", icon="LOOP_BACK")


def _draw_plan(layout: bpy.types.UILayout, plan: PrintPlan, picked: int | None) -> None:
    column = layout.column(align=True)
    for index, option in enumerate(plan.options):
        button: Any = column.operator(
            "fenderwright.pick_way",
            text=_figures(option),
            icon="CHECKMARK" if option.fit.fits else "ERROR",
            depress=index == picked,
        )
        button.piece, button.index = plan.piece, index
    if picked is None:
        draw_text(layout, "What was picked is no way to print this piece any more; pick anew.", "ERROR")
    else:
        said = plan.options[picked].reason
        draw_text(layout, f"{said[0].upper()}{said[1:]}; {plan.options[picked].overhang_mm2 / 100.0:.0f} cm2 overhang.")


def _figures(option: PrintOption) -> str:
    return f"{option.name}: {option.fit.size[2]:.0f} mm, {option.grams:.0f} g, {option.hours:.1f} h"


CLASSES = (FENDERWRIGHT_OT_pick_way, FENDERWRIGHT_OT_take_best_ways, FENDERWRIGHT_PT_ways_to_print)
