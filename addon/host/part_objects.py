# SPDX-License-Identifier: GPL-3.0-or-later
"""The finished pieces as objects of the scene."""

from __future__ import annotations

from collections.abc import Sequence

import bpy
import numpy as np

from ..core.pieces.dowel_pins import Pin
from ..core.views.explode_directions import explode_directions
from ..pipeline.finish import Part
from .mesh_collection import marked_collection, show_meshes

COLLECTION = "Fender Parts"
_MARK = "parts"


def show_parts(
    scene: bpy.types.Scene, parts: Sequence[Part], pins: Sequence[Pin] = (), apart_mm: float = 0.0
) -> list[bpy.types.Object]:
    """Put the pieces and their pins into a collection of the scene, in place of those of a former run, pulled apart by up to apart_mm."""
    named = [(f"Fender {part.name.replace('_', ' ').title()}", part.mesh) for part in parts]
    named += [(f"Dowel Pin {number}", pin.body) for number, pin in enumerate(pins, start=1)]
    made = show_meshes(scene, _MARK, COLLECTION, named)
    pull_apart(scene, apart_mm)
    return made


def hide_parts(scene: bpy.types.Scene, hide: bool) -> None:
    """Hide the pieces, or show them again."""
    collection = marked_collection(scene, _MARK)
    for ob in collection.objects if collection is not None else ():
        ob.hide_set(hide)


def show_skin_or_solid(scene: bpy.types.Scene, cage: bpy.types.Object, which: str) -> None:
    """Show one of what lies in the same place. which : "skin", "solid", or "wall" for neither"""
    hide_parts(scene, which != "solid")
    if cage.name in scene.objects:
        cage.hide_set(which != "skin")


def has_parts(scene: bpy.types.Scene) -> bool:
    """True if pieces were made, whether or not they are seen."""
    collection = marked_collection(scene, _MARK)
    return collection is not None and len(collection.objects) > 0


def parts_are_shown(scene: bpy.types.Scene) -> bool:
    """True if a piece is seen."""
    collection = marked_collection(scene, _MARK)
    return collection is not None and any(ob.visible_get() for ob in collection.objects)


def pull_apart(scene: bpy.types.Scene, apart_mm: float) -> None:
    """Move the pieces that are shown away from each other, the farthest one by apart_mm; 0 puts them together."""
    collection = marked_collection(scene, _MARK)
    pieces = [] if collection is None else [ob for ob in collection.objects if ob.type == "MESH"]
    bounds = [np.array([np.min(ob.bound_box, axis=0), np.max(ob.bound_box, axis=0)], np.float64) for ob in pieces]
    if pieces:
        for ob, way in zip(pieces, explode_directions(bounds), strict=True):
            ob.location = (apart_mm * way).tolist()
