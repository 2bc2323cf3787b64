# SPDX-License-Identifier: GPL-3.0-or-later
"""The finished pieces as objects of the scene."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import bpy

from .finish import Part
from .triangle_mesh_data import mesh_data

COLLECTION = "Fender Parts"


def show_parts(scene: bpy.types.Scene, parts: Sequence[Part]) -> list[bpy.types.Object]:
    """Put the pieces into a collection of the scene, in place of those of a former run."""
    collection = next((child for child in scene.collection.children if child.get("fenderwright") == "parts"), None)
    if collection is None:
        collection = bpy.data.collections.new(COLLECTION)
        collection["fenderwright"] = "parts"
        scene.collection.children.link(collection)
    for former in list(collection.objects):
        data: Any = former.data
        bpy.data.objects.remove(former)
        if data is not None and data.users == 0:
            bpy.data.meshes.remove(data)
    made = []
    for part in parts:
        name = f"Fender {part.name.title()}"
        ob = bpy.data.objects.new(name, mesh_data(name, part.mesh))
        collection.objects.link(ob)
        made.append(ob)
    return made
