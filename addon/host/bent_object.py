# SPDX-License-Identifier: GPL-3.0-or-later
"""A fender that is bent, as a mesh object with a shape key, for the view."""

from __future__ import annotations

import math
from typing import Any

import bpy
import numpy as np

from ..core.base.arrays import Array, Index
from ..core.colors.bend_colors import bend_colors
from ..core.stiffness.bend_shapes import BendShape

MARK = "bent"
MOVEMENT, COLORS, KEY = "movement", "Movement", "Bent"
"""Attribute in mm, color attribute, and shape key of the object."""
_FRAMES = 24
"""Of one swing."""


def make_bent_object(points: Array, triangles: Index, shape: BendShape, scene: bpy.types.Scene, name: str) -> bpy.types.Object:
    """The shell, moved by shape.times of its movement where the shape key is 1; a former one in the scene is replaced.

    points : (n, 3) float, mm; triangles : (m, 3) int. A swing goes on with the frames, from where the frame stands.
    """
    remove_bent_object(scene)
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(points.astype(np.float32), [], triangles)
    layer: Any = mesh.attributes.new(MOVEMENT, "FLOAT", "POINT")
    layer.data.foreach_set("value", np.linalg.norm(shape.movement, axis=1).astype(np.float32))
    colors: Any = mesh.color_attributes.new(COLORS, "FLOAT_COLOR", "POINT")
    colors.data.foreach_set("color_srgb", bend_colors(shape.movement).ravel())
    mesh.shade_smooth()
    ob = bpy.data.objects.new(name, mesh)
    ob["fenderwright"] = MARK
    scene.collection.objects.link(ob)
    ob.shape_key_add(name="Straight", from_mix=False)
    key = ob.shape_key_add(name=KEY, from_mix=False)
    key.data.foreach_set("co", (points + shape.times * shape.movement).astype(np.float32).ravel())
    key.slider_min, key.slider_max = -1.0, 1.0
    key.value = 1.0
    if shape.swings:
        driver: Any = key.driver_add("value")
        driver.driver.expression = f"cos((frame - {scene.frame_current}) * {2.0 * math.pi / _FRAMES:.6f})"
    return ob


def remove_bent_object(scene: bpy.types.Scene) -> None:
    """Remove the bent fender of a scene, if there is one."""
    for ob in [ob for ob in scene.collection.objects if ob.get("fenderwright") == MARK]:
        mesh: Any = ob.data
        bpy.data.objects.remove(ob)
        if mesh.users == 0:
            bpy.data.meshes.remove(mesh)
