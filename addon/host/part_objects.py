# SPDX-License-Identifier: GPL-3.0-or-later
"""The finished pieces as objects of the scene."""

from __future__ import annotations

from collections.abc import Sequence

import bpy

from .finish import Part
from .mesh_collection import show_meshes

COLLECTION = "Fender Parts"


def show_parts(scene: bpy.types.Scene, parts: Sequence[Part]) -> list[bpy.types.Object]:
    """Put the pieces into a collection of the scene, in place of those of a former run."""
    return show_meshes(scene, "parts", COLLECTION, [(f"Fender {part.name.title()}", part.mesh) for part in parts])
