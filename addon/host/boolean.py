# SPDX-License-Identifier: GPL-3.0-or-later
"""Difference and intersection of closed meshes by the host's Boolean modifier."""

from __future__ import annotations

from typing import Literal, cast

import bpy
import numpy as np

from ..core.errors import ShapeError
from ..core.solid.clean_mesh import cleaned
from ..core.solid.triangle_mesh import TriangleMesh
from .temporary_scene import temporary_scene
from .triangle_mesh_data import mesh_data, read_triangles


def difference(base: TriangleMesh, cutter: TriangleMesh, what: str) -> TriangleMesh:
    """base without cutter. what : names the step in errors, such as "bolt holes". See boolean."""
    return boolean(base, cutter, "DIFFERENCE", what)


def intersection(base: TriangleMesh, other: TriangleMesh, what: str) -> TriangleMesh:
    """What base and other share. what : names the step in errors. See boolean."""
    return boolean(base, other, "INTERSECT", what)


def boolean(base: TriangleMesh, other: TriangleMesh, operation: Literal["DIFFERENCE", "INTERSECT"], what: str) -> TriangleMesh:
    """The result of a Boolean operation on two closed meshes, closed, in float32 coordinates as the host holds them.

    The host's MANIFOLD solver leaves an open operand alone and says so on the console only; hence the checks.
    Raises ShapeError if an operand is open or the result is open or empty. All data blocks made here are removed.
    """
    for mesh, name in ((base, "part"), (other, "cutter")):
        if not mesh.is_closed:
            raise ShapeError(f"{what}: the {name} is not a closed body, so it cannot be cut")
    result = _by_modifier(base, other, operation)
    if not len(result.triangles):
        raise ShapeError(f"{what}: nothing is left of the part")
    result = cleaned(result)
    if not result.is_closed:
        raise ShapeError(f"{what}: the cut did not give a closed body; move the cut or the shape a little")
    return result


def _by_modifier(base: TriangleMesh, other: TriangleMesh, operation: Literal["DIFFERENCE", "INTERSECT"]) -> TriangleMesh:
    with temporary_scene("boolean") as scene:
        part, cutter = (bpy.data.objects.new(name, mesh_data(name, mesh)) for name, mesh in (("part", base), ("cutter", other)))
        scene.collection.objects.link(part)
        scene.collection.objects.link(cutter)
        modifier = cast(bpy.types.BooleanModifier, part.modifiers.new("cut", "BOOLEAN"))
        modifier.operation = operation
        modifier.solver = "MANIFOLD"
        modifier.object = cutter
        with bpy.context.temp_override(scene=scene, view_layer=scene.view_layers[0]):
            evaluated = part.evaluated_get(bpy.context.evaluated_depsgraph_get())
        mesh = evaluated.to_mesh()
        try:
            return read_triangles(mesh)
        finally:
            evaluated.to_mesh_clear()


def rounded(mesh: TriangleMesh) -> TriangleMesh:
    """The mesh with its coordinates rounded to float32, as the host and the files hold them, cleaned as after a cut."""
    return cleaned(TriangleMesh(mesh.vertices.astype(np.float32).astype(np.float64), mesh.triangles))
