# SPDX-License-Identifier: GPL-3.0-or-later
"""What is wrong with a cage object, in sentences."""

from __future__ import annotations

from typing import NamedTuple

import bmesh
import bpy
import numpy as np

from ...core.base.arrays import Array
from ...core.skin.cage import CageTopology
from ...core.skin.cage_problems import cage_problems, fatal_problems
from ...core.skin.subdivision.whole_cage import whole_cage
from .cage_mesh import mesh_of, read_points, read_topology
from .cage_modifiers import LABELS, modifier_of, modifiers_behind, wrong_settings

_IDENTITY_TOLERANCE = 1e-6
MOST_SKIN_QUADS = 250_000
"""A skin of more cannot be watched while it is shaped."""


class CageObjectProblem(NamedTuple):
    """A fault of a cage object: a code for the program and a sentence for the builder."""

    code: str
    sentence: str

    @property
    def stops(self) -> bool:
        """True if the skin is not that of the cage, or there is none, until it is mended."""
        return self.code not in ("loose_points", "loose_edges")

    @property
    def repairable(self) -> bool:
        """True if repair(ob) mends it."""
        return self.code not in ("not_mesh", "not_finite", "shape_keys", "no_skin", "library", "too_fine")


def cage_object_problems(ob: bpy.types.Object) -> list[CageObjectProblem]:
    """All faults of a cage object in its present mode; none if all is well."""
    if not isinstance(ob.data, bpy.types.Mesh):
        return [CageObjectProblem("not_mesh", f"{ob.name} is of type {ob.type}, a cage is a mesh")]
    problems = object_problems(ob)
    try:
        points = read_points(ob)
    except ValueError as error:
        return [*problems, CageObjectProblem("not_finite", f"{ob.name}: {error}")]
    topology = read_topology(ob, points)
    return problems + _face_problems(topology, points) + _loose_problems(ob, topology)


def is_in_scene(ob: bpy.types.Object, scene: bpy.types.Scene) -> bool:
    """False once the object was deleted from the scene, though the file still holds it."""
    # a linked object may have the name of one of this file
    return bool(scene.objects.get(ob.name) == ob) or any(item == ob for item in scene.objects)


def missing_in_scene(ob: bpy.types.Object) -> CageObjectProblem:
    """That the cage was deleted from the scene."""
    return CageObjectProblem(
        "not_in_scene", f"{ob.name} was deleted from this scene: bring it back with Repair Cage, or seed another"
    )


def object_problems(ob: bpy.types.Object) -> list[CageObjectProblem]:
    """The faults that lie in the object, not in its faces: quick enough for every step. ob : of a mesh"""
    problems = [*_transform_problems(ob), *_modifier_problems(ob)]
    if ob.library is not None or mesh_of(ob).library is not None:
        problems.append(CageObjectProblem("library", f"{ob.name} is linked from another file: make it local first"))
    if mesh_of(ob).shape_keys is not None:
        problems.append(CageObjectProblem("shape_keys", f"{ob.name} has shape keys, which a cage cannot have: remove them"))
    return problems


def fineness_problems(ob: bpy.types.Object, level: int) -> list[CageObjectProblem]:
    """That a cage has so many faces that its skin of a level could not be watched; quick however many there are."""
    mesh = mesh_of(ob)
    bm = bmesh.from_edit_mesh(mesh) if mesh.is_editmode else None
    faces = len(mesh.polygons if bm is None else bm.faces)
    corners = len(mesh.loops) if bm is None else sum(len(face.verts) for face in bm.faces)
    if corners * 4 ** (level - 1) <= MOST_SKIN_QUADS:
        return []
    fits = next((lower for lower in range(level - 1, 0, -1) if corners * 4 ** (lower - 1) <= MOST_SKIN_QUADS), None)
    advice = "delete edge loops" if fits is None else f"delete edge loops, or set the cage's Level to {fits}"
    return [CageObjectProblem("too_fine", f"{ob.name} has {faces:,} faces, too many to shape at level {level}: {advice}")]


def _transform_problems(ob: bpy.types.Object) -> list[CageObjectProblem]:
    away = np.abs(np.array(ob.matrix_world, dtype=np.float64) - np.eye(4))
    if away.max() <= _IDENTITY_TOLERANCE:
        return []
    how = "moved" if away[:3, :3].max() <= _IDENTITY_TOLERANCE else "scaled or rotated"
    return [CageObjectProblem("transform", f"{ob.name} is {how} as an object, its mesh no longer lies in wheel axes")]


def _modifier_problems(ob: bpy.types.Object) -> list[CageObjectProblem]:
    problems = []
    for kind, label in LABELS.items():
        modifier = modifier_of(ob, kind)
        if modifier is None:
            problems.append(CageObjectProblem("modifier_missing", f"{ob.name} has no {label} modifier"))
        elif wrong := wrong_settings(modifier):
            names = ", ".join(wrong)
            problems.append(CageObjectProblem("modifier_settings", f"{label} modifier of {ob.name}: set otherwise are {names}"))
    behind = ", ".join(modifier.name for modifier in modifiers_behind(ob))
    if behind:
        sentence = (
            f"{ob.name} is shown as {behind} changes it, not as it is measured: hide or remove what is behind the subdivision"
        )
        problems.append(CageObjectProblem("modifier_behind", sentence))
    kinds = [modifier.type for modifier in ob.modifiers][:2]
    if all(problem.code == "modifier_behind" for problem in problems) and kinds != list(LABELS):
        sentence = f"the first modifiers of {ob.name} are not Mirror, then Subdivision Surface"
        problems.append(CageObjectProblem("modifier_order", sentence))
    return problems


def _face_problems(topology: CageTopology, points: Array) -> list[CageObjectProblem]:
    problems = [CageObjectProblem(*problem) for problem in fatal_problems(topology, whole_cage(topology))]
    if problems:
        return problems
    if topology.mirrored:
        across = np.flatnonzero((points[:, 0] < 0.0) & ~topology.on_plane)
        if len(across):
            what = "1 point of the half lies" if len(across) == 1 else f"{len(across)} points of the half lie"
            sentence = f"{what} across the mirror plane, first point {across[0]}: move it back, or use Make Half"
            problems.append(CageObjectProblem("across_plane", sentence))
    if looks_inward(topology, points):
        problems.append(CageObjectProblem("inside_out", "the faces look toward the axle, the skin would be inside out"))
    return problems


def looks_inward(topology: CageTopology, points: Array) -> bool:
    """True if the faces look toward the axle more than away from it."""
    place = points[topology.corners]
    following = np.arange(len(place)) + 1
    following[topology.face_starts[1:] - 1] = topology.face_starts[:-1]
    twice_area = np.add.reduceat(np.cross(place, place[following]), topology.face_starts[:-1], axis=0)
    center = np.add.reduceat(place, topology.face_starts[:-1], axis=0) / np.diff(topology.face_starts)[:, None]
    outward = center / np.maximum(np.hypot(center[:, 1], center[:, 2]), 1e-12)[:, None]
    return float((twice_area[:, 1:] * outward[:, 1:]).sum()) < 0.0


def _loose_problems(ob: bpy.types.Object, topology: CageTopology) -> list[CageObjectProblem]:
    problems = [CageObjectProblem(*problem) for problem in cage_problems(topology) if problem.code == "loose_points"]
    loose = _loose_edge_count(mesh_of(ob))
    if loose:
        what = "1 edge of the cage belongs" if loose == 1 else f"{loose} edges of the cage belong"
        problems.append(CageObjectProblem("loose_edges", f"{what} to no face"))
    return problems


def _loose_edge_count(mesh: bpy.types.Mesh) -> int:
    if mesh.is_editmode:
        return sum(edge.is_wire for edge in bmesh.from_edit_mesh(mesh).edges)
    edge_of_corner = np.zeros(len(mesh.loops), dtype=np.int32)
    mesh.loops.foreach_get("edge_index", edge_of_corner)
    return len(mesh.edges) - len(np.unique(edge_of_corner))
