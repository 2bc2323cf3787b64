# SPDX-License-Identifier: GPL-3.0-or-later
"""Cages of kept variants: copies beside the one that is shaped, shown as ghosts on demand; and the difference in color."""

from __future__ import annotations

from typing import Any

import bpy

from ..core.colors.difference_colors import difference_colors, difference_span
from ..core.skin.skin import Skin
from ..core.variants.shape_difference import ShapeDifference
from .map_object import make_colored_object, remove_colored
from .mesh_collection import marked_collection

COLLECTION = "Fender Variants"
_MARK = "variants"
DIFFERENCE = "difference"
"""Mark of the object that shows it, and its attribute in mm."""
_COLORS = "Shape Difference"


def copy_cage(cage: bpy.types.Object, name: str, collection: bpy.types.Collection) -> bpy.types.Object:
    """A copy of a cage with its own mesh, linked to a collection."""
    copy = cage.copy()
    data: Any = cage.data
    copy.data = data.copy()
    copy.name = name
    copy.hide_viewport = False
    collection.objects.link(copy)
    return copy


def keep_cage(scene: bpy.types.Scene, cage: bpy.types.Object, name: str) -> bpy.types.Object:
    """A copy of a cage among the kept ones of a scene, out of sight."""
    collection = marked_collection(scene, _MARK)
    if collection is None:
        collection = bpy.data.collections.new(COLLECTION)
        collection["fenderwright"] = _MARK
        scene.collection.children.link(collection)
    kept = copy_cage(cage, name, collection)
    kept.hide_viewport = kept.hide_render = True
    kept.hide_select = True
    kept.display_type = "WIRE"
    return kept


def remove_cage(cage: bpy.types.Object | None) -> None:
    """Remove a kept cage; nothing if it is gone already."""
    if cage is None:
        return
    data: Any = cage.data
    bpy.data.objects.remove(cage)
    if data.users == 0:
        bpy.data.meshes.remove(data)


def show_difference(shape: Skin, difference: ShapeDifference, collection: bpy.types.Collection) -> float:
    """Show a whole skin in the colors of its difference; returns the figure in mm that full colors stand for."""
    span = difference_span(difference.out, difference.beyond)
    colors = difference_colors(difference.out, difference.beyond, span)
    make_colored_object(DIFFERENCE, _COLORS, DIFFERENCE, (shape.points, shape.quads), difference.out, colors, collection)
    return span


def hide_difference(collection: bpy.types.Collection) -> bool:
    """Remove what shows a difference; True if there was one."""
    return remove_colored(DIFFERENCE, collection)
