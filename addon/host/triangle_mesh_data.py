# SPDX-License-Identifier: GPL-3.0-or-later
"""Triangle meshes to and from the host's mesh data."""

from __future__ import annotations

from typing import cast

import bpy
import numpy as np

from ..core.mesh.triangle_mesh import TriangleMesh


def mesh_data(name: str, mesh: TriangleMesh) -> bpy.types.Mesh:
    """A new mesh data block with the triangles; coordinates are rounded to float32."""
    data = bpy.data.meshes.new(name)
    count = len(mesh.triangles)
    data.vertices.add(len(mesh.vertices))
    data.vertices.foreach_set("co", mesh.vertices.astype(np.float32).ravel())
    data.loops.add(3 * count)
    data.loops.foreach_set("vertex_index", mesh.triangles.astype(np.int32).ravel())
    data.polygons.add(count)
    data.polygons.foreach_set("loop_start", np.arange(0, 3 * count, 3, dtype=np.int32))
    data.update(calc_edges=True)
    return data


def read_triangles(data: bpy.types.Mesh) -> TriangleMesh:
    """The triangles of mesh data, in object mode; larger faces as the host triangulates them."""
    data.calc_loop_triangles()
    vertices = np.zeros(3 * len(data.vertices), np.float32)
    if len(vertices):
        position = cast(bpy.types.FloatVectorAttribute, data.attributes["position"])
        position.data.foreach_get("vector", vertices)
    triangles = np.zeros(3 * len(data.loop_triangles), np.int32)
    data.loop_triangles.foreach_get("vertices", triangles)
    return TriangleMesh(vertices.astype(np.float64).reshape(-1, 3), triangles.astype(np.int64).reshape(-1, 3))
