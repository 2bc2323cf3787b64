# SPDX-License-Identifier: GPL-3.0-or-later
"""Panel of the fender's stiffness, and the operators that compute it and show its shapes."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.colors.bend_colors import bend_legend
from ...core.colors.clearance_map import LegendStep
from ...core.stiffness.bend_shapes import BendShape, bend_shapes
from ...core.stiffness.fender_stiffness import FenderStiffness
from ...core.stiffness.job_material import top_speed_kmh
from ...core.stiffness.stiffness_report import JobStiffness, stiffness_cautions
from ...host.bent_object import make_bent_object
from ...pipeline.job_stiffness import job_stiffness_steps
from ...pipeline.steps import Steps
from ..base.cage_operator import CageOperator
from ..base.panel_parts import JobPanel, draw_rows, draw_text
from ..base.step_operator import StepOperator
from ..shape.map_operator import show_in_place, take_map_away
from ..state import session
from ..state.scene_state import SceneState

_PARTS = ("Print", "Laminate")


def _parts(made: JobStiffness) -> tuple[tuple[str, FenderStiffness], ...]:
    """Names and stiffness of print and laminate, as far as there are any."""
    pairs = zip(_PARTS, (made.printed, made.laminated), strict=True)
    return tuple((name, part) for name, part in pairs if part is not None)


class FENDERWRIGHT_OT_compute_stiffness(StepOperator, CageOperator, bpy.types.Operator):
    """Compute how far the built fender gives way, what it swings at, and how its layers are pulled"""

    bl_idname = "fenderwright.compute_stiffness"
    bl_label = "Compute Stiffness"
    step_count = 2

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        if session.of_scene(context.scene).built is not None:
            return True
        cls.poll_message_set("Build the solid first")
        return False

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[Any]:
        return self.begin_stepping(context)

    def steps(self, context: bpy.types.Context) -> Steps[str]:
        state = session.of_scene(context.scene)
        assert state.built is not None  # as poll has seen to
        made = yield from job_stiffness_steps(state.built)
        take_map_away(context)
        state.stiffness = made
        session.redraw_views()
        return f"Gives way by up to {made.final.flex_mm:.1f} mm, swings from {made.final.modes.frequencies_hz[0]:.0f} Hz on"


class FENDERWRIGHT_OT_show_bend(CageOperator, bpy.types.Operator):
    """Show this shape of the fender, enlarged, or take it away again; a swing plays with the frames"""

    bl_idname = "fenderwright.show_bend"
    bl_label = "Show Bend"

    part: bpy.props.StringProperty(name="Part", description="Print or Laminate", default="Print")  # type: ignore[valid-type]
    index: bpy.props.IntProperty(name="Shape", description="Number of the shape in the panel's list", min=0)  # type: ignore[valid-type]

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        if session.of_scene(context.scene).stiffness is None:
            cls.poll_message_set("Compute the stiffness first")
            return False
        return cls.in_object_mode(context)

    def execute(self, context: bpy.types.Context) -> set[Any]:
        state = session.of_scene(context.scene)
        assert state.stiffness is not None and state.built is not None  # as poll has seen to
        part = dict(_parts(state.stiffness)).get(self.part)
        shapes = () if part is None else bend_shapes(part, top_speed_kmh(state.built.job))
        if part is None or self.index >= len(shapes):
            names = " and ".join(name for name, _ in _parts(state.stiffness))
            self.report({"ERROR"}, f"{self.part}: has no shape {self.index}; there are {len(shapes)} of it, and parts {names}")
            return {"CANCELLED"}
        shape, name = shapes[self.index], _name(self.part, self.index)
        if take_map_away(context) != name:
            with session.OwnChange():
                made = make_bent_object(part.mesh.points, part.mesh.triangles, shape, context.scene, f"{self.part}: {shape.name}")
            show_in_place(context, name, *_legend(shape))
            self.report({"INFO"}, f"{made.name}, {shape.figure}; shown {shape.times:.0f} times as large")
        return {"FINISHED"}


def _name(part: str, index: int) -> str:
    return f"{part} {index}"


def _legend(shape: BendShape) -> tuple[tuple[LegendStep, ...], tuple[str, str]]:
    if shape.swings:
        return bend_legend(None), ("Movement,", "share of the most")
    return bend_legend(shape.most_mm), ("Movement, mm,", f"shown {shape.times:.0f} times")


class FENDERWRIGHT_PT_stiffness(JobPanel, bpy.types.Panel):
    """How far the fender gives way, what it swings at, and how its layers are pulled"""

    bl_label = "Stiffness"
    bl_parent_id = "FENDERWRIGHT_PT_finish"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout, state = self.prepare(), session.of_scene(context.scene)
        layout.operator("fenderwright.compute_stiffness", icon="PHYSICS")
        if state.stiffness is None or state.built is None:
            return
        speed = top_speed_kmh(state.built.job)
        for name, part in _parts(state.stiffness):
            _draw_part(layout, state, name, part, bend_shapes(part, speed))
        for sentence in stiffness_cautions(state.built.job, state.stiffness):
            draw_text(layout, sentence, "INFO")


def _draw_part(
    layout: bpy.types.UILayout, state: SceneState, name: str, part: FenderStiffness, shapes: tuple[BendShape, ...]
) -> None:
    layout.label(text=name)
    column = layout.column(align=True)
    for index, shape in enumerate(shapes):
        button: Any = column.operator(
            "fenderwright.show_bend", text=f"{shape.name}: {shape.figure}", depress=state.map_shown == _name(name, index)
        )
        button.part, button.index = name, index
    stress = "Stress Across Layers" if name == "Print" else "Stress"
    draw_rows(
        layout,
        (
            (stress, f"{part.stress.mpa:.1f} MPa"),
            ("Bears", f"{part.stress.strength_mpa:.0f} MPa"),
            ("Change from Half the Triangles", f"{100.0 * part.change:.0f} %"),
        ),
    )


CLASSES = (FENDERWRIGHT_OT_compute_stiffness, FENDERWRIGHT_OT_show_bend, FENDERWRIGHT_PT_stiffness)
