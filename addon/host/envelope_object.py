# SPDX-License-Identifier: GPL-3.0-or-later
"""The tire at its largest as an object to look at."""

from __future__ import annotations

import bpy
import numpy as np
from mathutils import Matrix

from ..core.base.arrays import Array
from ..core.bodies.revolved import revolved

NAME = "Tire at Its Largest"
_MARK, _IS = "fenderwright", "envelope"


def envelope_object(scene: bpy.types.Scene) -> bpy.types.Object | None:
    """The one of a scene; None if there is none, or it was deleted."""
    return next((ob for ob in scene.objects if ob.get(_MARK) == _IS), None)


def make_envelope_object(profile: Array, collection: bpy.types.Collection) -> bpy.types.Object:
    """A new mesh object of the profile turned about the axle; it cannot be selected or rendered.

    profile : (m, 2) float, mm, as in core.revolved. A former one in the collection is replaced.
    """
    for former in [ob for ob in collection.objects if ob.get(_MARK) == _IS]:
        bpy.data.objects.remove(former)
    ob = bpy.data.objects.new(NAME, bpy.data.meshes.new(NAME))
    ob[_MARK] = _IS
    ob.color = (0.25, 0.25, 0.25, 1.0)
    ob.hide_select, ob.hide_render = True, True
    _draw(ob, profile)
    collection.objects.link(ob)
    return ob


def redraw_envelope(scene: bpy.types.Scene, profile: Array, placement: Array) -> None:
    """Have a scene show the profile as it is now; made anew where it is missing, left alone where it is so.

    placement : (4, 4) float, mm, of the wheel in wheel axes
    """
    ob = envelope_object(scene)
    if ob is None or not isinstance(ob.data, bpy.types.Mesh):
        ob = make_envelope_object(profile, scene.collection)
    if not shows_profile(ob, profile):
        _draw(ob, profile)
    wanted = placement.astype(np.float32)
    if not np.allclose(np.array(ob.matrix_world, np.float32), wanted, rtol=0.0, atol=1e-4):
        ob.parent = None
        ob.constraints.clear()
        ob.matrix_world = Matrix(wanted.tolist())


def shows_profile(ob: bpy.types.Object, profile: Array) -> bool:
    """True if the mesh of an envelope object is that of a profile, to the host's 32 bits."""
    wanted = revolved(profile)[0].astype(np.float32)
    mesh = ob.data
    assert isinstance(mesh, bpy.types.Mesh)
    if len(mesh.vertices) != len(wanted) or mesh.is_editmode:
        return False
    shown = np.zeros(wanted.size, np.float32)
    mesh.vertices.foreach_get("co", shown)
    return bool(np.array_equal(shown, wanted.ravel()))


def _draw(ob: bpy.types.Object, profile: Array) -> None:
    points, quads, _ = revolved(profile)
    mesh = ob.data
    assert isinstance(mesh, bpy.types.Mesh)
    mesh.clear_geometry()
    mesh.from_pydata(points.astype(np.float32), [], quads)
    mesh.shade_smooth()
    mesh.update()
