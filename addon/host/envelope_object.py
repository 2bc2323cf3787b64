# SPDX-License-Identifier: GPL-3.0-or-later
"""The tire at its largest as an object to look at."""

from __future__ import annotations

import bpy
import numpy as np

from ..core.base.arrays import Array
from ..core.bodies.revolved import revolved

NAME = "Tire at Its Largest"


def make_envelope_object(profile: Array, collection: bpy.types.Collection) -> bpy.types.Object:
    """A new mesh object of the profile turned about the axle; it cannot be selected or rendered.

    profile : (m, 2) float, mm, as in core.revolved. A former one in the collection is replaced.
    """
    for former in [ob for ob in collection.objects if ob.get("fenderwright") == "envelope"]:
        bpy.data.objects.remove(former)
    points, quads, _ = revolved(profile)
    mesh = bpy.data.meshes.new(NAME)
    mesh.from_pydata(points.astype(np.float32), [], quads)
    mesh.shade_smooth()
    ob = bpy.data.objects.new(NAME, mesh)
    ob["fenderwright"] = "envelope"
    ob.color = (0.25, 0.25, 0.25, 1.0)
    ob.hide_select, ob.hide_render = True, True
    collection.objects.link(ob)
    return ob
