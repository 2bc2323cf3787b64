# SPDX-License-Identifier: GPL-3.0-or-later
"""Panels of the job sheet, in the order of the job."""

from __future__ import annotations

import bpy

from ...core.clearance.keepout import shell_remarks
from ...core.wall.edge_plan import edge_names
from ..base.panel_parts import JobPanel, draw_list, draw_rows, draw_table, draw_text, draw_values
from ..state import session
from ..state.job_values import shape_keys
from ..state.scene_settings import settings_of


class FENDERWRIGHT_PT_job(JobPanel, bpy.types.Panel):
    """Job sheet of the scene"""

    bl_label = "Job"
    bl_order = 10

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        layout.prop(settings, "name_of_job")
        row = layout.row(align=True)
        row.operator("fenderwright.load_sheet", icon="FILE_FOLDER")
        row.operator("fenderwright.save_sheet", icon="FILE_TICK")
        problem = session.of_scene(context.scene).problem
        if problem:
            draw_text(layout, problem, "ERROR")
        else:
            layout.label(text="The sheet is complete", icon="CHECKMARK")


class FENDERWRIGHT_PT_tire(JobPanel, bpy.types.Panel):
    """Tire that is really fitted"""

    bl_label = "Tire"
    bl_order = 20

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        draw_values(layout, settings.wheel, "wheel", "position", "top_speed_kmh")
        draw_values(layout, settings.tire, "tire", "size", "use", "rim_width_in", "measuring_rim_in")
        draw_values(layout, settings.tire, "tire", "measured_radius", "measured_width", "sigma")


class FENDERWRIGHT_PT_profile(JobPanel, bpy.types.Panel):
    """Measured points of the tread"""

    bl_label = "Profile Points"
    bl_parent_id = "FENDERWRIGHT_PT_tire"
    bl_options = {"DEFAULT_CLOSED"}

    def draw_header(self, context: bpy.types.Context) -> None:
        self.layout.prop(settings_of(context.scene).tire, "use_profile", text="")

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        tire = settings_of(context.scene).tire
        layout.active = tire.use_profile
        draw_list(layout, tire, "tire", "profile")


class FENDERWRIGHT_PT_mount(JobPanel, bpy.types.Panel):
    """Mount face and bolts that the fender hangs from"""

    bl_label = "Mount"
    bl_order = 30

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        mount = settings_of(context.scene).mount
        draw_values(layout, mount, "mount", "carried_by", "height", "ahead", "tilt", "side")
        draw_list(layout, mount, "mount", "bolts")
        draw_values(layout, mount, "mount", "thread", "fit", "pad", "blend", "plate", "heads", "hardware", "washer", "recess")
        layout.prop(mount, "use_slots")
        if mount.use_slots:
            draw_list(layout, mount, "mount", "slots")


class FENDERWRIGHT_PT_clearance(JobPanel, bpy.types.Panel):
    """Allowances that add up to the clearance"""

    bl_label = "Clearance"
    bl_order = 40

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        clearance = settings_of(context.scene).clearance
        draw_values(
            layout, clearance, "clearance", "gap", "runout_radial", "runout_lateral", "flex", "coverage_factor", "tire", "sum"
        )


class FENDERWRIGHT_PT_budget(JobPanel, bpy.types.Panel):
    """Every allowance with its value in mm and where it comes from, and their sums"""

    bl_label = "Budget"
    bl_parent_id = "FENDERWRIGHT_PT_clearance"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        draw_rows(self.layout, session.of_scene(context.scene).budget_rows)


class FENDERWRIGHT_PT_keepouts(JobPanel, bpy.types.Panel):
    """Further bodies to stay away from"""

    bl_label = "Keep-Outs"
    bl_order = 50
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        keepout = draw_table(layout, settings, "keepout")
        if keepout is not None:
            draw_values(
                layout, keepout, "keepout", "name", "kind", *_plain_keys(keepout.kind), "gap", "moves_with", "side", "scallop"
            )
            if keepout.kind == "mesh":
                layout.prop(keepout, "mesh_object")
        facts = session.of_scene(context.scene).facts
        for remark in () if facts is None else shell_remarks(facts.field.limits):
            draw_text(layout, remark, "INFO")


class FENDERWRIGHT_PT_travel(JobPanel, bpy.types.Panel):
    """How tire and keep-outs move against the fender"""

    bl_label = "Travel and Steering"
    bl_parent_id = "FENDERWRIGHT_PT_keepouts"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        own = ("fork_rake", "fork_offset", "head", "lock") if settings.wheel.position == "front" else ("swingarm", "pivot")
        draw_values(layout, settings.travel, "travel", "bump", "rebound", *own, "axle_slot")


def _plain_keys(kind: str) -> tuple[str, ...]:
    """Keys of the shape of a keep-out that are typed; its object is picked."""
    return tuple(key for key in shape_keys(kind) if key != "object")


class FENDERWRIGHT_PT_cage(JobPanel, bpy.types.Panel):
    """Cage to start shaping from"""

    bl_label = "Cage"
    bl_order = 60

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        draw_values(layout, settings.cage, "cage", "front", "rear", "half_width", "side_drop", "rise")
        draw_values(layout, settings.cage, "cage", "stations", "columns", "level")
        layout.operator("fenderwright.seed_cage", icon="MESH_GRID")
        layout.prop(settings, "cage_object")


class FENDERWRIGHT_PT_wall(JobPanel, bpy.types.Panel):
    """Wall, split and printer"""

    bl_label = "Wall and Split"
    bl_order = 80
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        draw_values(layout, settings.wall, "wall", "thickness", "front_thickness", "rear_thickness", "ramp", "painted_thickness")
        layout.operator("fenderwright.paint_wall", icon="WPAINT_HLT")
        draw_values(layout, settings.wall, "wall", "side")
        draw_values(layout, settings.wall, "wall", "edge", "edge_size", "seat")
        draw_values(layout, settings.split, "split", "plane", "joint", "lap", "fit", "locate", "pin", "pieces")
        draw_values(layout, settings.printer, "printer", "bed", "margin", "nozzle", "material", "purpose", "compensate")


class FENDERWRIGHT_PT_ribs(JobPanel, bpy.types.Panel):
    """Ribs along the fender, on its face away from the tire"""

    bl_label = "Ribs"
    bl_parent_id = "FENDERWRIGHT_PT_wall"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        rib = draw_table(layout, settings_of(context.scene), "rib")
        if rib is not None:
            draw_values(layout, rib, "rib", "name", "front", "rear", "x", "width", "height", "sides")


class FENDERWRIGHT_PT_edges(JobPanel, bpy.types.Panel):
    """Edges that differ from the one of the wall"""

    bl_label = "Single Edges"
    bl_parent_id = "FENDERWRIGHT_PT_wall"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        edge = settings_of(context.scene).edge
        for name in edge_names():
            draw_values(layout, edge, "edge", name, f"{name}_size")
        draw_values(layout, edge, "edge", "run")


class FENDERWRIGHT_PT_finish(JobPanel, bpy.types.Panel):
    """Solid, halves and files"""

    bl_label = "Solid and Files"
    bl_order = 90

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        layout.operator("fenderwright.build_solid", icon="MOD_SOLIDIFY")
        layout.operator("fenderwright.show_skin", icon="HIDE_OFF")
        layout.operator("fenderwright.show_wall", icon="COLOR")
        layout.operator("fenderwright.write_halves", icon="EXPORT")
        layout.prop(settings_of(context.scene), "apart")
        for line in session.of_scene(context.scene).result_lines:
            draw_text(layout, line)


CLASSES = (
    FENDERWRIGHT_PT_job,
    FENDERWRIGHT_PT_tire,
    FENDERWRIGHT_PT_profile,
    FENDERWRIGHT_PT_mount,
    FENDERWRIGHT_PT_clearance,
    FENDERWRIGHT_PT_budget,
    FENDERWRIGHT_PT_keepouts,
    FENDERWRIGHT_PT_travel,
    FENDERWRIGHT_PT_cage,
    FENDERWRIGHT_PT_wall,
    FENDERWRIGHT_PT_ribs,
    FENDERWRIGHT_PT_edges,
    FENDERWRIGHT_PT_finish,
)
