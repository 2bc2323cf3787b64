# SPDX-License-Identifier: GPL-3.0-or-later
"""Triangle meshes as objects in a collection of the scene, in place of those of a former run."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import bpy

from ..core.mesh.triangle_mesh import TriangleMesh
from .triangle_mesh_data import mesh_data


def marked_collection(scene: bpy.types.Scene, mark: str) -> bpy.types.Collection | None:
    """The collection of the scene that carries a mark, if there is one."""
    return next((child for child in scene.collection.children if child.get("fenderwright") == mark), None)


def show_meshes(
    scene: bpy.types.Scene, mark: str, title: str, meshes: Iterable[tuple[str, TriangleMesh]]
) -> list[bpy.types.Object]:
    """Put meshes, (name, mesh) each, into the collection of the scene that carries a mark; it is made with a title if need be."""
    collection = marked_collection(scene, mark)
    if collection is None:
        collection = bpy.data.collections.new(title)
        collection["fenderwright"] = mark
        scene.collection.children.link(collection)
    for former in list(collection.objects):
        data: Any = former.data
        bpy.data.objects.remove(former)
        if data is not None and data.users == 0:
            bpy.data.meshes.remove(data)
    made = []
    for name, mesh in meshes:
        ob = bpy.data.objects.new(name, mesh_data(name, mesh))
        collection.objects.link(ob)
        made.append(ob)
    return made
