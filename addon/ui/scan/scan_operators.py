# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators on a scan: import it, mark its regions."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import bmesh
import bpy
import numpy as np
from bpy_extras.io_utils import ImportHelper

from ...core.base.arrays import Mask
from ...core.base.errors import JobError
from ...core.scan.data.hints import REGIONS
from ...core.tables.scan_colors import REGION_COLORS, UNMARKED
from ...host.scan_import import SUFFIXES, import_scan
from ...host.scan_object import REGION, REGION_LAYER, make_scan_object, mark_points, mesh_of
from ..base.scene_units import set_units
from ..state import session
from .scan_overlay import mark_scan_changed
from .scan_properties import REGION_CHOICES, REGION_LABELS, UNITS, scan_settings
from .scan_view import look_at_scan, show_point_colors

PAINTED = 0.5
"""Weight in the vertex group from which a point counts as painted."""


class FENDERWRIGHT_OT_import_scan(bpy.types.Operator, ImportHelper):
    """Bring in a scan of wheel and mount, as a mesh or as bare points"""

    bl_idname = "fenderwright.import_scan"
    bl_label = "Import Scan"
    bl_options = {"REGISTER", "UNDO"}

    filter_glob: bpy.props.StringProperty(default=";".join(f"*{suffix}" for suffix in SUFFIXES), options={"HIDDEN"})  # type: ignore[valid-type]
    unit: bpy.props.EnumProperty(  # type: ignore[valid-type]
        name="Unit", description="Length that one unit of the file stands for", items=UNITS
    )
    if TYPE_CHECKING:
        filepath: str

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[Any]:  # type: ignore[override]
        if self.properties.is_property_set("filepath"):  # a file was dropped into the view
            return context.window_manager.invoke_props_dialog(self, title=Path(self.filepath).name)
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> set[Any]:
        path, scene = Path(bpy.path.abspath(self.filepath)), context.scene
        try:
            scan = import_scan(path)
            with session.OwnChange():
                ob = make_scan_object(scan, self.unit, path.stem, scene.collection)
                set_units(scene)
        except (JobError, OSError) as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        scan_settings(scene).scan_object = ob
        if context.mode == "OBJECT":
            for other in context.selected_objects:
                other.select_set(False)
            ob.select_set(True)
            context.view_layer.objects.active = ob
        mark_scan_changed(ob)
        look_at_scan(ob)
        what = f"{len(scan.triangles)} faces" if len(scan.triangles) else "bare points"
        self.report({"INFO"}, f"Imported {ob.name}: {len(scan.points)} points, {what}")
        return {"FINISHED"}


class FENDERWRIGHT_FH_scan(bpy.types.FileHandler):
    """Lets a scan be dropped into the 3D view"""

    bl_idname = "FENDERWRIGHT_FH_scan"
    bl_label = "Scan of Wheel and Mount"
    bl_import_operator = "fenderwright.import_scan"
    bl_file_extensions = ";".join(SUFFIXES)

    @classmethod
    def poll_drop(cls, context: bpy.types.Context) -> bool:
        return context.area is not None and context.area.type == "VIEW_3D"


class MarkOperator:
    """Operators on the points of the scan that are selected in edit mode, else on those painted in its active vertex group."""

    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        ob = None if context.scene is None else scan_settings(context.scene).scan_object
        if ob is None:
            cls.poll_message_set("The scene has no scan, import one first")  # type: ignore[attr-defined]
        elif ob.mode != "EDIT" and ob.vertex_groups.active is None:
            cls.poll_message_set("Select points of the scan in edit mode, or paint a vertex group on it")  # type: ignore[attr-defined]
        else:
            return True
        return False

    def mark(self, context: bpy.types.Context, region: str | None) -> set[Any]:
        ob = scan_settings(context.scene).scan_object
        with session.OwnChange():
            if ob.mode == "EDIT":
                count = _mark_selected(mesh_of(ob), region)
            else:
                mask = _painted(ob)
                count = int(np.count_nonzero(mask))
                if count:
                    mark_points(mesh_of(ob), mask, region)
        if not count:
            self.report({"ERROR"}, "No point of the scan is selected or painted")  # type: ignore[attr-defined]
            return {"CANCELLED"}
        mark_scan_changed(ob)
        show_point_colors()
        name = "no region" if region is None else REGION_LABELS[region]
        self.report({"INFO"}, f"{count} points belong to {name}")  # type: ignore[attr-defined]
        return {"FINISHED"}


class FENDERWRIGHT_OT_mark_region(MarkOperator, bpy.types.Operator):
    """Say that the selected points of the scan belong to this region"""

    bl_idname = "fenderwright.mark_region"
    bl_label = "Mark Region"

    region: bpy.props.EnumProperty(  # type: ignore[valid-type]
        name="Region", description="What the selected points belong to", items=REGION_CHOICES
    )

    def execute(self, context: bpy.types.Context) -> set[Any]:
        return self.mark(context, self.region)


class FENDERWRIGHT_OT_unmark_region(MarkOperator, bpy.types.Operator):
    """Take the selected points of the scan out of their region"""

    bl_idname = "fenderwright.unmark_region"
    bl_label = "Unmark"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        return self.mark(context, None)


def _mark_selected(mesh: bpy.types.Mesh, region: str | None) -> int:
    """Mark the selected points of a mesh in edit mode; returns how many."""
    edited = bmesh.from_edit_mesh(mesh)
    if not any(vert.select for vert in edited.verts):
        return 0
    layers = edited.verts.layers
    places = layers.int.get(REGION) or layers.int.new(REGION)
    colors = layers.color.get(REGION_LAYER)
    if colors is None:
        colors = layers.color.new(REGION_LAYER)
        for vert in edited.verts:
            vert[colors] = (*UNMARKED, 1.0)
    place = 0 if region is None else REGIONS.index(region) + 1
    color = (*(UNMARKED if region is None else REGION_COLORS[region]), 1.0)
    count = 0
    for vert in edited.verts:
        if vert.select:
            vert[places], vert[colors] = place, color
            count += 1
    bmesh.update_edit_mesh(mesh, loop_triangles=False, destructive=False)
    mesh.color_attributes.active_color_name = REGION_LAYER
    return count


def _painted(ob: bpy.types.Object) -> Mask:
    group = ob.vertex_groups.active.index
    heavy = (any(entry.group == group and entry.weight > PAINTED for entry in vertex.groups) for vertex in mesh_of(ob).vertices)
    return np.fromiter(heavy, dtype=bool, count=len(mesh_of(ob).vertices))


CLASSES = (
    FENDERWRIGHT_OT_import_scan,
    FENDERWRIGHT_FH_scan,
    FENDERWRIGHT_OT_mark_region,
    FENDERWRIGHT_OT_unmark_region,
)
