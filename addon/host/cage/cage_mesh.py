# SPDX-License-Identifier: GPL-3.0-or-later
"""The cage as a mesh object of the host: made, read and written, in object mode and in edit mode."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import bmesh
import bpy
import numpy as np

from ...core.base.arrays import Array, Index, Mask, as_points
from ...core.skin.cage import Cage, CageTopology
from .cage_modifiers import CageModifiers, add_cage_modifiers, cage_modifiers
from .wall_paint import read_paint, write_paint

SEAT = "fenderwright_seat"
"""Point attribute: True for the points that hold the mount's seat."""
_EDGE_CREASE = "crease_edge"
_POINT_CREASE = "crease_vert"


def make_cage_object(
    cage: Cage, name: str, collection: bpy.types.Collection, *, level: int = 4, seat: Mask | None = None
) -> bpy.types.Object:
    """A new mesh object for a cage, with its modifiers and creases, linked to a collection.

    level : of the skin shown, 1 to 6; seat : (n,) bool, the points that hold the seat; none by default
    """
    topology = cage.topology
    points = as_points(cage.points)
    starts = topology.face_starts.tolist()
    corners = topology.corners.tolist()
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(points.tolist(), [], [corners[a:b] for a, b in pairwise(starts)])
    if len(topology.creases):
        value_of = dict(zip(map(frozenset, topology.crease_edges.tolist()), topology.creases.tolist(), strict=True))
        ends = _edge_ends(mesh)
        _write_attribute(mesh, _EDGE_CREASE, "FLOAT", "EDGE", [value_of.get(frozenset(pair), 0.0) for pair in ends.tolist()])
    if topology.point_creases.any():
        _write_attribute(mesh, _POINT_CREASE, "FLOAT", "POINT", topology.point_creases)
    _write_attribute(mesh, SEAT, "BOOLEAN", "POINT", np.zeros(len(points), bool) if seat is None else seat)
    mesh.shade_smooth()
    ob = bpy.data.objects.new(name, mesh)
    collection.objects.link(ob)
    write_paint(ob, cage.paint)
    add_cage_modifiers(ob, level, mirrored=topology.mirrored, keep_corners=topology.keep_corners)
    return ob


def read_cage(ob: bpy.types.Object) -> Cage:
    """The cage of a mesh object, as its modifiers use it now; in edit mode, of the mesh being edited.

    Points in the object's own space, which is that of the wheel unless cage_object_problems says otherwise.
    Raises ValueError if a point is not finite.
    """
    points = read_points(ob)
    return Cage(read_topology(ob, points), points, read_paint(ob))


def read_points(ob: bpy.types.Object) -> Array:
    """Cage points (n, 3) float, mm, of the present mode.

    Raises ValueError if a point is not finite.
    """
    mesh = mesh_of(ob)
    if mesh.is_editmode:
        return as_points(np.array([vertex.co[:] for vertex in bmesh.from_edit_mesh(mesh).verts]).reshape(-1, 3))
    buffer = np.zeros(3 * len(mesh.vertices), dtype=np.float32)
    if len(buffer):
        _attribute(mesh, "position").data.foreach_get("vector", buffer)
    return as_points(buffer.reshape(-1, 3))


def read_topology(ob: bpy.types.Object, points: Array) -> CageTopology:
    """Faces, creases and mirror of a cage object; points decide which of them lie on the mirror plane."""
    mesh = mesh_of(ob)
    modifiers = cage_modifiers(ob)
    read = _edited_faces if mesh.is_editmode else _mesh_faces
    face_starts, corners, crease_edges, creases, point_creases = read(mesh)
    if not modifiers.use_creases:
        crease_edges, creases, point_creases = crease_edges[:0], creases[:0], np.zeros(len(points))
    point_creases[_wired_points(mesh)] = 1.0  # the host holds points of loose edges sharp, whatever its creases say
    return CageTopology(
        point_count=len(points),
        face_starts=face_starts,
        corners=corners,
        crease_edges=crease_edges,
        creases=creases,
        point_creases=point_creases,
        mirrored=modifiers.mirrored,
        on_plane=_on_plane(points, modifiers),
        keep_corners=modifiers.keep_corners,
    )


def write_points(ob: bpy.types.Object, points: Array) -> None:
    """Move the cage points, in the present mode. points : (n, 3) float, mm.

    Raises ValueError if there are more or fewer points than the cage has, or one is not finite.
    """
    mesh = mesh_of(ob)
    points = as_points(points)
    count = len(bmesh.from_edit_mesh(mesh).verts) if mesh.is_editmode else len(mesh.vertices)
    if len(points) != count:
        raise ValueError(f"points: {len(points)}, but the cage {ob.name} has {count}")
    buffer = points.astype(np.float32)
    if mesh.is_editmode:
        verts = bmesh.from_edit_mesh(mesh).verts
        verts.ensure_lookup_table()
        changed = np.flatnonzero((buffer != read_points(ob).astype(np.float32)).any(axis=1))
        for index, place in zip(changed.tolist(), buffer[changed].tolist(), strict=True):
            verts[index].co = place
        bmesh.update_edit_mesh(mesh, loop_triangles=True, destructive=False)
        return
    _attribute(mesh, "position").data.foreach_set("vector", buffer.ravel())
    mesh.update()


def read_seat(ob: bpy.types.Object) -> Mask:
    """The points (n,) bool that hold the seat; all False if the mesh has lost the attribute."""
    mesh = mesh_of(ob)
    if mesh.is_editmode:
        bm = bmesh.from_edit_mesh(mesh)
        layer = bm.verts.layers.bool.get(SEAT)
        return np.array([layer is not None and bool(vertex[layer]) for vertex in bm.verts], dtype=bool)
    values = np.zeros(len(mesh.vertices), dtype=bool)
    attribute = _attribute(mesh, SEAT)
    if attribute is not None and attribute.data_type == "BOOLEAN" and attribute.domain == "POINT":
        attribute.data.foreach_get("value", values)
    return values


def write_seat(ob: bpy.types.Object, seat: Mask) -> None:
    """Mark the points (n,) bool that hold the seat, in the present mode."""
    mesh = mesh_of(ob)
    if not mesh.is_editmode:
        _write_attribute(mesh, SEAT, "BOOLEAN", "POINT", seat)
        return
    bm = bmesh.from_edit_mesh(mesh)
    layer = bm.verts.layers.bool.get(SEAT) or bm.verts.layers.bool.new(SEAT)
    for vertex, held in zip(bm.verts, np.asarray(seat, bool).tolist(), strict=True):
        vertex[layer] = held
    bmesh.update_edit_mesh(mesh, loop_triangles=False, destructive=False)


def mesh_of(ob: bpy.types.Object) -> bpy.types.Mesh:
    """The mesh of an object. Raises TypeError if it has none."""
    if not isinstance(ob.data, bpy.types.Mesh):
        raise TypeError(f"{ob.name}: a mesh object is needed, this is of type {ob.type}")
    return ob.data


def _on_plane(points: Array, modifiers: CageModifiers) -> Mask:
    """As the host merges: points closer to their own image than the threshold."""
    return np.asarray(2.0 * np.abs(points[:, 0]) < modifiers.merge_within)


def _wired_points(mesh: bpy.types.Mesh) -> Index:
    """Points that an edge without a face hangs on."""
    if mesh.is_editmode:
        wires = [vertex.index for edge in bmesh.from_edit_mesh(mesh).edges if edge.is_wire for vertex in edge.verts]
        return np.unique(np.array(wires, dtype=np.int64))
    edge_of_corner = np.zeros(len(mesh.loops), dtype=np.int32)
    mesh.loops.foreach_get("edge_index", edge_of_corner)
    loose = np.ones(len(mesh.edges), dtype=bool)
    loose[edge_of_corner] = False
    return np.unique(_edge_ends(mesh)[loose]) if loose.any() else np.zeros(0, np.int64)


_Faces = tuple[Index, Index, Index, Array, Array]


def _mesh_faces(mesh: bpy.types.Mesh) -> _Faces:
    corners = np.zeros(len(mesh.loops), dtype=np.int32)
    mesh.loops.foreach_get("vertex_index", corners)
    starts = np.zeros(len(mesh.polygons), dtype=np.int32)
    mesh.polygons.foreach_get("loop_start", starts)
    creases = _read_attribute(mesh, _EDGE_CREASE, "EDGE", len(mesh.edges))
    used = np.flatnonzero(creases > 0.0)
    return (
        np.append(starts, len(corners)).astype(np.int64),
        corners.astype(np.int64),
        _edge_ends(mesh)[used],
        creases[used],
        _read_attribute(mesh, _POINT_CREASE, "POINT", len(mesh.vertices)),
    )


def _edited_faces(mesh: bpy.types.Mesh) -> _Faces:
    bm = bmesh.from_edit_mesh(mesh)
    bm.verts.index_update()
    faces = [[vertex.index for vertex in face.verts] for face in bm.faces]
    edge_layer = bm.edges.layers.float.get(_EDGE_CREASE)
    creased = [] if edge_layer is None else [edge for edge in bm.edges if edge[edge_layer] > 0.0]
    point_layer = bm.verts.layers.float.get(_POINT_CREASE)
    point_creases = [0.0] * len(bm.verts) if point_layer is None else [vertex[point_layer] for vertex in bm.verts]
    return (
        np.cumsum([0, *map(len, faces)]),
        np.array([index for face in faces for index in face], dtype=np.int64),
        np.array([[vertex.index for vertex in edge.verts] for edge in creased], dtype=np.int64).reshape(-1, 2),
        np.array([edge[edge_layer] for edge in creased], dtype=np.float64),
        np.array(point_creases, dtype=np.float64),
    )


def _edge_ends(mesh: bpy.types.Mesh) -> Index:
    ends = np.zeros(2 * len(mesh.edges), dtype=np.int32)
    mesh.edges.foreach_get("vertices", ends)
    return ends.reshape(-1, 2).astype(np.int64)


def _attribute(mesh: bpy.types.Mesh, name: str) -> Any:
    return mesh.attributes.get(name)


def _read_attribute(mesh: bpy.types.Mesh, name: str, domain: str, count: int) -> Array:
    values = np.zeros(count, dtype=np.float32)
    attribute = _attribute(mesh, name)
    if attribute is not None and attribute.domain == domain and attribute.data_type == "FLOAT":
        attribute.data.foreach_get("value", values)
    return values.astype(np.float64)


def _write_attribute(mesh: bpy.types.Mesh, name: str, data_type: Any, domain: Any, values: object) -> None:
    attribute = _attribute(mesh, name)
    if attribute is not None and (attribute.data_type, attribute.domain) != (data_type, domain):
        mesh.attributes.remove(attribute)
        attribute = None
    if attribute is None:
        attribute = mesh.attributes.new(name, data_type, domain)
    attribute.data.foreach_set("value", np.asarray(values, dtype=bool if data_type == "BOOLEAN" else np.float32))
