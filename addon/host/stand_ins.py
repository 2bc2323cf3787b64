# SPDX-License-Identifier: GPL-3.0-or-later
"""Stand-ins of tire and keep-outs, moved to a pose of the bike."""

from __future__ import annotations

from collections.abc import Mapping

import bpy
import numpy as np
from mathutils import Matrix

from ..core.base.arrays import Array
from ..core.bodies.body import Body
from ..core.bodies.box import Box
from ..core.bodies.capsule import Capsule
from ..core.mesh import prism
from ..core.mesh.triangle_mesh import TriangleMesh
from .mesh_collection import marked_collection, show_meshes

COLLECTION = "Keep-Out Stand-Ins"
_MARK = "stand_ins"
_ROWS, _SIDES = 12, 24


def show_stand_ins(scene: bpy.types.Scene, bodies: Mapping[str, Body]) -> None:
    """Put rods and boxes into a collection of the scene, by name, in place of former ones; other bodies have no stand-in."""
    named = [(name, mesh) for name, body in bodies.items() if (mesh := _mesh_of(body)) is not None]
    for ob in show_meshes(scene, _MARK, COLLECTION, named):
        ob.hide_select, ob.hide_render = True, True


def place_stand_ins(scene: bpy.types.Scene, wheel: Array, bodies: Mapping[str, Array]) -> None:
    """Move the tire at its largest, and the stand-ins by name, by (4, 4) matrices in wheel axes, mm."""
    for ob in scene.collection.objects:
        if ob.get("fenderwright") == "envelope":
            ob.matrix_world = Matrix(wheel.tolist())
    collection = marked_collection(scene, _MARK)
    for ob in collection.objects if collection is not None else ():
        if ob.name in bodies:
            ob.matrix_world = Matrix(bodies[ob.name].tolist())


def _mesh_of(body: Body) -> TriangleMesh | None:
    if isinstance(body, Box):
        return prism.box(body.center, body.axes, -body.half, body.half)
    return _capsule_mesh(body) if isinstance(body, Capsule) else None


def _capsule_mesh(body: Capsule) -> TriangleMesh:
    """Rings of the two half balls, one after the other, on the way from a to b."""
    way = body.b - body.a
    length = float(np.linalg.norm(way))
    along = way / length if length else np.array([0.0, 0.0, 1.0])
    one = np.cross(along, np.eye(3)[np.argmin(np.abs(along))])
    one /= np.linalg.norm(one)
    polar = np.linspace(0.0, np.pi, _ROWS)
    centers = np.where((polar < 0.5 * np.pi)[:, None], body.a, body.b) - body.radius * np.cos(polar)[:, None] * along
    turn = 2.0 * np.pi * np.arange(_SIDES) / _SIDES
    ring = np.cos(turn)[:, None] * one + np.sin(turn)[:, None] * np.cross(along, one)
    points = (centers[:, None] + body.radius * np.sin(polar)[:, None, None] * ring).reshape(-1, 3)
    first = (np.arange(_ROWS - 1)[:, None] * _SIDES + np.arange(_SIDES)).ravel()
    beside = (np.arange(_ROWS - 1)[:, None] * _SIDES + np.roll(np.arange(_SIDES), -1)).ravel()
    triangles = np.concatenate(
        [np.stack([first, beside, beside + _SIDES], axis=1), np.stack([first, beside + _SIDES, first + _SIDES], axis=1)]
    )
    return TriangleMesh(points, triangles)
