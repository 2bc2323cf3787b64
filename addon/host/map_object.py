# SPDX-License-Identifier: GPL-3.0-or-later
"""The clearance map as a mesh object, for renders and exports."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np

from ..core.arrays import Array
from ..core.clearance_map import clearance_colors
from ..core.skin import Skin

CLEARANCE = "clearance"
COLORS = "Clearance Map"
"""Attributes: clearance of the part's face in mm, and its colors. A color attribute named "color" renders black."""


def make_map_object(skin: Skin, excess: Array, required_mm: float, collection: bpy.types.Collection) -> bpy.types.Object:
    """A mesh object of the whole skin with clearance and colors at its points; a former one in the collection is replaced.

    excess : (n,) float, mm over what is required; required_mm : from the part's face to the tire at its largest
    """
    for former in [ob for ob in collection.objects if ob.get("fenderwright") == "map"]:
        bpy.data.objects.remove(former)
    mesh = bpy.data.meshes.new(COLORS)
    mesh.from_pydata(skin.points.astype(np.float32), [], skin.quads)
    clearance: Any = mesh.attributes.new(CLEARANCE, "FLOAT", "POINT")
    clearance.data.foreach_set("value", (excess + required_mm).astype(np.float32))
    colors: Any = mesh.color_attributes.new(COLORS, "FLOAT_COLOR", "POINT")
    colors.data.foreach_set("color_srgb", clearance_colors(excess, skin.points).ravel())
    mesh.shade_smooth()
    ob = bpy.data.objects.new(COLORS, mesh)
    ob["fenderwright"] = "map"
    collection.objects.link(ob)
    return ob
