# SPDX-License-Identifier: GPL-3.0-or-later
"""Maps of clearance, wall and draft as mesh objects, for the view, renders and exports."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import bpy
import numpy as np

from ..core.base.arrays import Array
from ..core.colors.clearance_map import clearance_colors
from ..core.colors.draft_colors import draft_colors
from ..core.colors.wall_colors import wall_colors
from ..core.laminate.mold_drafts import PieceDraft
from ..core.mesh.open_surface import Surface
from ..core.mesh.triangle_mesh import TriangleMesh
from ..core.skin.skin import Skin
from ..core.wall.wall_map import WallMap

CLEARANCE, COLORS = "clearance", "Clearance Map"
"""Attributes: clearance of the part's face in mm, and its colors. A color attribute named "color" renders black."""
WALL, WALL_COLORS = "wall", "Wall Map"
LEAST_WALL = "Least Wall"
DRAFT, DRAFT_COLORS = "draft", "Draft Map"
LEAST_DRAFT = "Least Draft"


def make_map_object(
    skin: Skin, excess: Array, hardware: tuple[TriangleMesh, Array], required_mm: float, collection: bpy.types.Collection
) -> bpy.types.Object:
    """A mesh object of the whole skin with clearance and colors at its points; a former one in the collection is replaced.

    excess : (n,) float, mm over what is required; hardware : heads and nuts, and the same (h,) at their vertices
    required_mm : from the part's face to the tire at its largest
    """
    screws, over = hardware
    points, values = np.concatenate([skin.points, screws.vertices]), np.concatenate([excess, over])
    faces = [*skin.quads.tolist(), *(screws.triangles + len(skin.points)).tolist()]
    colors = clearance_colors(values, points)
    return make_colored_object("map", COLORS, CLEARANCE, (points, faces), values + required_mm, colors, collection)


def make_wall_map_object(shown: WallMap, least_mm: float, collection: bpy.types.Collection) -> bpy.types.Object:
    """A mesh object of the outer face with thickness and colors at its points, and a mark where the wall is least.

    least_mm : that the nozzle can print. Former ones in the collection are replaced.
    """
    colors = wall_colors(shown.thickness, shown.points, least_mm)
    made = make_colored_object(
        "wall map", WALL_COLORS, WALL, (shown.points, shown.triangles), shown.thickness, colors, collection
    )
    _mark(f"{LEAST_WALL} {shown.least_mm:.2f} mm", shown.place, made, collection)
    return made


def make_draft_map_object(
    face: Surface, angles: Array, drafts: Sequence[PieceDraft], collection: bpy.types.Collection
) -> bpy.types.Object:
    """A mesh object of a face with draft and colors at its points, and marks where each piece of the mold has least and is undercut.

    angles : (n,) float, deg, at the points of the face. Former ones in the collection are replaced.
    """
    colors = draft_colors(angles, face.points)
    made = make_colored_object("draft map", DRAFT_COLORS, DRAFT, (face.points, face.triangles), angles, colors, collection)
    for piece in drafts:
        _mark(f"{LEAST_DRAFT} {piece.draft.least:.1f} deg", piece.draft.place, made, collection)
        if piece.draft.undercut_place is not None:
            _mark(f"Undercut {piece.draft.undercut / 100.0:.1f} cm2", piece.draft.undercut_place, made, collection)
    return made


def _mark(name: str, place: Array, parent: bpy.types.Object, collection: bpy.types.Collection) -> None:
    mark = bpy.data.objects.new(name, None)
    mark.empty_display_type, mark.empty_display_size = "SPHERE", 4.0
    mark.location = place.tolist()
    mark.show_name = True
    mark.parent = parent
    collection.objects.link(mark)


def remove_build_maps(collection: bpy.types.Collection) -> None:
    """Remove the wall map and the draft map of a collection and their marks."""
    remove_colored("wall map", collection)
    remove_colored("draft map", collection)


def remove_colored(mark: str, collection: bpy.types.Collection) -> bool:
    """Remove the object of a collection that carries a mark, with its children; True if there was one."""
    found = False
    for former in [ob for ob in collection.objects if ob.get("fenderwright") == mark]:
        for child in former.children:
            bpy.data.objects.remove(child)
        bpy.data.objects.remove(former)
        found = True
    return found


def make_colored_object(
    mark: str,
    name: str,
    attribute: str,
    mesh_of: tuple[Array, Any],
    values: Array,
    colors: Any,
    collection: bpy.types.Collection,
) -> bpy.types.Object:
    """A mesh object that carries values and colors at its points; a former one with the mark in the collection is replaced.

    mark : by which it is found again; name : of object and colors; attribute : of the values; mesh_of : points and faces
    """
    remove_colored(mark, collection)
    points, faces = mesh_of
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(points.astype(np.float32), [], faces)
    layer: Any = mesh.attributes.new(attribute, "FLOAT", "POINT")
    layer.data.foreach_set("value", values.astype(np.float32))
    color_layer: Any = mesh.color_attributes.new(name, "FLOAT_COLOR", "POINT")
    color_layer.data.foreach_set("color_srgb", np.ascontiguousarray(colors, np.float32).ravel())
    mesh.shade_smooth()
    ob = bpy.data.objects.new(name, mesh)
    ob["fenderwright"] = mark
    collection.objects.link(ob)
    return ob
