# SPDX-License-Identifier: GPL-3.0-or-later
"""The paint of the wall: a vertex group of the cage, filled with the host's own weight paint."""

from __future__ import annotations

from typing import Any

import bmesh
import bpy
import numpy as np

from ...core.base.arrays import Array

GROUP = "Fender Wall"


def read_paint(ob: bpy.types.Object) -> Array | None:
    """Weights (n,) float, 0 to 1, of the cage's points in the present mode; None where nothing is painted."""
    group: Any = ob.vertex_groups.get(GROUP)
    mesh = ob.data
    if group is None or not isinstance(mesh, bpy.types.Mesh):
        return None
    index = group.index
    if mesh.is_editmode:
        bm = bmesh.from_edit_mesh(mesh)
        layer: Any = bm.verts.layers.deform.active
        weights = [0.0 if layer is None else vertex[layer].get(index, 0.0) for vertex in bm.verts]
    else:
        weights = [next((each.weight for each in vertex.groups if each.group == index), 0.0) for vertex in mesh.vertices]
    paint = np.clip(np.array(weights, dtype=np.float64), 0.0, 1.0)
    return paint if paint.any() else None


def add_paint_group(ob: bpy.types.Object) -> None:
    """Make the group the active one, with weight 0 everywhere if it is new, so that the host shows and paints it.

    ob : a mesh object in object mode
    """
    group: Any = ob.vertex_groups.get(GROUP)
    if group is None:
        group = ob.vertex_groups.new(name=GROUP)
        group.add(range(len(ob.data.vertices)), 0.0, "REPLACE")  # type: ignore[union-attr]
    ob.vertex_groups.active = group


def write_paint(ob: bpy.types.Object, paint: Array | None) -> None:
    """Give a cage in object mode the weights (n,) of another one, such as its half; nothing for None."""
    if paint is None:
        return
    add_paint_group(ob)
    group: Any = ob.vertex_groups[GROUP]
    for number, weight in enumerate(paint.tolist()):
        group.add([number], weight, "REPLACE")
