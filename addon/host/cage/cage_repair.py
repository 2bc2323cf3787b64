# SPDX-License-Identifier: GPL-3.0-or-later
"""Mend what can be mended on a cage object."""

from __future__ import annotations

from collections.abc import Callable

import bmesh
import bpy
from mathutils import Matrix

from ...core.shaping.shaper import SHORT_OF_PLANE_MM
from ...core.skin.cage_problems import fatal_problems
from ...core.skin.half_cage import PARTNER_MM
from ...core.skin.subdivision.whole_cage import whole_cage
from .cage_mesh import mesh_of, read_points, read_topology, write_points
from .cage_modifiers import modifiers_behind, restore_cage_modifiers
from .cage_object_problems import CageObjectProblem, cage_object_problems, looks_inward


def repair(ob: bpy.types.Object, level: int = 4) -> list[CageObjectProblem]:
    """Mend the faults of a cage object that can be mended, in its present mode; returns those that are left.

    A transform of the object is applied to its mesh, so that the cage stays where it is seen; modifiers are restored, others
    stay behind them, hidden; the winding of the faces is made one, outward; points that lie a little across the mirror plane are put
    on it, or short of it if the skin would tear. No point and no face is removed.
    level : of the skin, where its Subdivision Surface modifier is missing
    """
    codes = {problem.code for problem in cage_object_problems(ob)}
    if "not_mesh" in codes:
        return cage_object_problems(ob)
    if "transform" in codes:
        _apply_transform(ob)
    if codes & {"modifier_missing", "modifier_settings", "modifier_order"}:
        restore_cage_modifiers(ob, level)
    for modifier in modifiers_behind(ob):
        modifier.show_viewport = False
    if "across_plane" in codes:
        _bring_to_plane(ob)
    if "winding" in codes:
        _edit(ob, lambda bm: bmesh.ops.recalc_face_normals(bm, faces=bm.faces[:]))
    if "not_finite" not in codes and not any(problem.code == "no_skin" for problem in cage_object_problems(ob)):
        points = read_points(ob)
        if looks_inward(read_topology(ob, points), points):
            _edit(ob, lambda bm: bmesh.ops.reverse_faces(bm, faces=bm.faces[:]))
    return cage_object_problems(ob)


def _bring_to_plane(ob: bpy.types.Object) -> None:
    points = read_points(ob)
    across = (points[:, 0] < 0.0) & ~read_topology(ob, points).on_plane
    if points[across, 0].min() < -PARTNER_MM:
        return  # rather the other side of a full cage
    for x in (0.0, SHORT_OF_PLANE_MM):
        points[across, 0] = x
        write_points(ob, points)
        topology = read_topology(ob, points)
        if not fatal_problems(topology, whole_cage(topology)):
            return


def _apply_transform(ob: bpy.types.Object) -> None:
    matrix = ob.matrix_world.copy()
    if ob.data.users > 1:
        ob.data = ob.data.copy()
    _edit(ob, lambda bm: bmesh.ops.transform(bm, matrix=matrix, verts=bm.verts[:]))
    ob.parent = None
    ob.constraints.clear()
    ob.delta_location, ob.delta_scale = (0.0, 0.0, 0.0), (1.0, 1.0, 1.0)
    ob.delta_rotation_euler, ob.delta_rotation_quaternion = (0.0, 0.0, 0.0), (1.0, 0.0, 0.0, 0.0)
    ob.matrix_basis = Matrix.Identity(4)
    ob.matrix_world = Matrix.Identity(4)


def _edit(ob: bpy.types.Object, change: Callable[[bmesh.types.BMesh], object]) -> None:
    """Run a change on the mesh, in edit mode on the mesh being edited."""
    mesh = mesh_of(ob)
    if mesh.is_editmode:
        change(bmesh.from_edit_mesh(mesh))
        bmesh.update_edit_mesh(mesh)
        return
    bm = bmesh.new()
    try:
        bm.from_mesh(mesh)
        change(bm)
        bm.to_mesh(mesh)
    finally:
        bm.free()
    mesh.update()
