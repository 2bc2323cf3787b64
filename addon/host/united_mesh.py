# SPDX-License-Identifier: GPL-3.0-or-later
"""Many closed meshes united into one by the host's Boolean modifier."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import bpy
import numpy as np

from ..core.base.errors import ShapeError
from ..core.mesh.clean_mesh import coincident_points, collapse_short_edges
from ..core.mesh.triangle_mesh import TriangleMesh, connected_components
from .boolean import solver
from .triangle_mesh_data import mesh_data, read_triangles

PART_MM = 0.005
SPECK_MM3 = 0.1
"""Less than a bead of plastic as long as it is wide."""


def united_mesh(solids: Sequence[TriangleMesh], cuts: Sequence[TriangleMesh], what: str) -> TriangleMesh:
    """All solids in one, without the cuts; closed, in float32 coordinates as the host holds them.

    what : names the body in errors, such as "tire comb". Solids and cuts may overlap each other in any way.
    Raises ShapeError if a piece is open, or the result is open, empty or in more than one part: the host says
    so on the console only.
    """
    for mesh in (*solids, *cuts):
        if not mesh.is_closed:
            raise ShapeError(f"{what}: a piece of it is not a closed body")
    result = collapse_short_edges(_combined(solids[0], solids[1:], "UNION")) if len(solids) > 1 else solids[0]
    if cuts:
        result = _combined(result, cuts, "DIFFERENCE")
    if not len(result.triangles):
        raise ShapeError(f"{what}: nothing is left of it")
    result = collapse_short_edges(result)
    if not result.is_closed:
        hint = "" if solver() == "MANIFOLD" else "; this host was built without the solver that can, use it as its makers ship it"
        raise ShapeError(f"{what}: its pieces did not unite into a closed body{hint}")
    return _without_specks(result, what)


def _without_specks(mesh: TriangleMesh, what: str) -> TriangleMesh:
    """The mesh without shells too small to print, such as voids where letters cross. ShapeError if a larger part is loose."""
    labels = connected_components(len(mesh.vertices), mesh.triangles)[mesh.triangles[:, 0]]
    shells = [TriangleMesh(mesh.vertices, mesh.triangles[labels == label]) for label in np.unique(labels)]
    shells.sort(key=lambda shell: -abs(shell.volume))
    loose = sum(abs(shell.volume) > SPECK_MM3 for shell in shells[1:])
    if loose:
        raise ShapeError(f"{what}: it falls into {loose + 1} parts")
    return _parted(collapse_short_edges(shells[0]))


def _parted(mesh: TriangleMesh) -> TriangleMesh:
    """The mesh with points that lie on each other moved apart, each PART_MM toward its neighbors.

    Where two bodies only touch in a point, the solver leaves two points there; a reader of the file would weld them.
    """
    touching = coincident_points(mesh)
    if not len(touching):
        return mesh
    vertices = mesh.vertices.copy()
    for point in touching.tolist():
        around = mesh.triangles[(mesh.triangles == point).any(axis=1)].ravel()
        way = mesh.vertices[around[around != point]].mean(axis=0) - mesh.vertices[point]
        vertices[point] += PART_MM * way / np.linalg.norm(way)
    return TriangleMesh(vertices, mesh.triangles)


def _combined(base: TriangleMesh, others: Sequence[TriangleMesh], operation: Literal["UNION", "DIFFERENCE"]) -> TriangleMesh:
    scene = bpy.data.scenes.new("unite")
    collection = bpy.data.collections.new("unite others")
    datas = [mesh_data("unite", mesh) for mesh in (base, *others)]
    objects = [bpy.data.objects.new(data.name, data) for data in datas]
    try:
        scene.collection.objects.link(objects[0])
        scene.collection.children.link(collection)
        for item in objects[1:]:
            collection.objects.link(item)
        modifier = objects[0].modifiers.new("unite", "BOOLEAN")
        assert isinstance(modifier, bpy.types.BooleanModifier)
        modifier.operation = operation
        modifier.solver = solver()  # type: ignore[assignment]
        modifier.operand_type = "COLLECTION"
        modifier.collection = collection
        layer = scene.view_layers[0]
        layer.update()
        graph = layer.depsgraph
        evaluated = objects[0].evaluated_get(graph)
        mesh = evaluated.to_mesh()
        try:
            return read_triangles(mesh)
        finally:
            evaluated.to_mesh_clear()
    finally:
        bpy.data.scenes.remove(scene)
        for item in objects:
            bpy.data.objects.remove(item)
        bpy.data.collections.remove(collection)
        for data in datas:
            bpy.data.meshes.remove(data)
