# SPDX-License-Identifier: GPL-3.0-or-later
"""Ways to lay a piece on the printer's bed that differ from each other."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.row_vectors import dot_rows
from ..base.wheel_axes import station_of
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.mount import MountFrame
from .print_fit import print_fit

_LEAST_FLAT_MM2 = 100.0
_MOST_FLATS = 4
_FLAT_COSINE = np.cos(np.radians(0.05))
_FLAT_MM = 0.05
_GROUPS = 200.0
_FAR = 10_000
"""Steps of a unit normal that group triangles, and more than any coordinate of a group."""
_APART_DEG = 20.0
"""Orientations whose verticals differ by less are one."""
_TILTS_DEG = (6.0, 12.0, 18.0, 24.0)
"""Leans that are tried with a piece that does not fit upright."""
_LEAN_WAYS = 8
_TURNS = 180
_SAMPLED = 400


Ways = tuple[tuple[str, Array], ...]
"""Names and directions, wheel axes."""


@dataclass(frozen=True, eq=False)
class Orientation:
    """name : in words; rotation : (3, 3) float, wheel axes to printer axes (z up), points @ rotation.T"""

    name: str
    rotation: Array


def print_orientations(
    mesh: TriangleMesh, frame: MountFrame, bed: tuple[float, float, float], margin: float, scale: float = 1.0
) -> tuple[Orientation, ...]:
    """Distinct ways to print a piece: on its flat faces, ends and side edges, crown up and down, and as it fits best.

    mesh : closed, wheel axes; bed, margin : mm; scale : of the print over the piece
    Each is turned about the vertical to fill least of the bed, and leans as little as it must to fit.
    """
    room = np.array([bed[0] - 2 * margin, bed[1] - 2 * margin, bed[2] - margin]) / scale
    points = _outermost(mesh.vertices)
    found: list[Orientation] = []
    ways = tuple(_plain_ways(mesh, frame))
    for name, up in _verticals(mesh, ways):
        rotation, lean = _placed(points, up, room)
        words = name if not lean else f"{name.removesuffix(', flat')}, leaning {lean:.0f} deg"
        _add(found, Orientation(words, rotation))
    best = print_fit(mesh.vertices, tuple(side / scale for side in bed), margin / scale).rotation  # type: ignore[arg-type]
    for rotation in (best, np.diag([1.0, -1.0, -1.0]) @ best):
        angle, name = _nearest_way(rotation[2], ways)
        _add(found, Orientation(f"{name}, tipped {angle:.0f} deg", rotation))
    return tuple(found)


def _add(found: list[Orientation], other: Orientation) -> None:
    near = np.cos(np.radians(_APART_DEG))
    if all(float(one.rotation[2] @ other.rotation[2]) < near for one in found):
        found.append(other)


def _verticals(mesh: TriangleMesh, ways: Ways) -> Iterator[tuple[str, Array]]:
    """Names and directions, wheel axes, that may point up on the printer."""
    for normal, station in _flat_faces(mesh):
        angle, name = _nearest_way(-normal, ways)
        yield (f"{name}, flat" if angle < _APART_DEG else f"flat on its face at station {round(station):+d}"), -normal
    yield from ways


def _plain_ways(mesh: TriangleMesh, frame: MountFrame) -> Iterator[tuple[str, Array]]:
    stations = np.radians(station_of(mesh.vertices))
    for name, turn, way in (("on its rear end", stations.min(), 1.0), ("on its front end", stations.max(), -1.0)):
        yield name, way * np.array([0.0, -np.cos(turn), -np.sin(turn)])
    yield "on its right edge", np.array([1.0, 0.0, 0.0])
    yield "on its left edge", np.array([-1.0, 0.0, 0.0])
    yield "crown up", frame.up
    yield "crown down", -frame.up


def _nearest_way(up: Array, ways: Ways) -> tuple[float, str]:
    """The plain way that is nearest to a vertical, and the angle between the two, degrees."""
    return min((float(np.degrees(np.arccos(np.clip(up @ way, -1.0, 1.0)))), name) for name, way in ways)


def _flat_faces(mesh: TriangleMesh) -> list[tuple[Array, float]]:
    """Outward normals of the largest flat faces, largest first, with the stations of their middles."""
    vectors, middles, area = mesh.area_vectors, mesh.middles, mesh.areas
    normals = vectors / np.where(area > 0.0, area, 1.0)[:, None]
    offset = dot_rows(normals, middles)
    key = np.round(np.column_stack([normals * _GROUPS, offset])).astype(np.int64) + _FAR
    _, group = np.unique(((key[:, 0] * 2 * _FAR + key[:, 1]) * 2 * _FAR + key[:, 2]) * 2 * _FAR + key[:, 3], return_inverse=True)
    sums = np.bincount(group, area)
    faces: list[tuple[Array, float]] = []
    for one in np.argsort(-sums)[: 2 * _MOST_FLATS]:
        first = int(np.flatnonzero(group == one)[np.argmax(area[group == one])])
        # a group may end within a face: all that lies in the plane of its largest triangle belongs to it
        inside = (normals @ normals[first] > _FLAT_COSINE) & (np.abs(offset - offset[first]) < _FLAT_MM)
        total = float(area[inside].sum())
        known = any(float(normal @ normals[first]) > _FLAT_COSINE for normal, _ in faces)
        if total >= _LEAST_FLAT_MM2 and not known and len(faces) < _MOST_FLATS:
            middle = (area[inside, None] * middles[inside]).sum(axis=0) / total
            faces.append((normals[first], float(station_of(middle))))
    return faces


def _outermost(points: Array) -> Array:
    """The points that reach farthest in many directions, in place of all of them."""
    z = 1.0 - 2.0 * (np.arange(_SAMPLED) + 0.5) / _SAMPLED
    turn = np.pi * (3.0 - np.sqrt(5.0)) * np.arange(_SAMPLED)
    flat = np.sqrt(1.0 - z**2)
    directions = np.stack([flat * np.cos(turn), flat * np.sin(turn), z])
    columns = np.ascontiguousarray(points)
    kept: Array = points[np.unique([int((columns @ direction).argmax()) for direction in directions.T])]
    return kept


def _placed(points: Array, up: Array, room: Array) -> tuple[Array, float]:
    """The rotation that takes `up` to z, turned to fill least, and the lean in degrees that makes it fit, 0 if none does."""
    straight, fill = _turned(points, _upright(up), room)
    if fill <= 1.0:
        return straight, 0.0
    for lean in _TILTS_DEG:
        trials = []
        for way in 2.0 * np.pi * np.arange(_LEAN_WAYS) / _LEAN_WAYS:
            trials.append(_turned(points, _leaning(np.radians(lean), way) @ straight, room))
        rotation, fill = min(trials, key=lambda trial: trial[1])
        if fill <= 1.0:
            return rotation, lean
    return straight, 0.0


def _upright(up: Array) -> Array:
    up = up / np.linalg.norm(up)
    one = np.cross(up, np.eye(3)[int(np.argmin(np.abs(up)))])
    one /= np.linalg.norm(one)
    return np.stack([one, np.cross(up, one), up])


def _leaning(angle: float, way: float) -> Array:
    """Rotation by an angle about a level axis that points `way`."""
    axis = np.array([np.cos(way), np.sin(way), 0.0])
    skew = np.array([[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    return np.asarray(np.eye(3) + np.sin(angle) * skew + (1.0 - np.cos(angle)) * skew @ skew)


def _turned(points: Array, rotation: Array, room: Array) -> tuple[Array, float]:
    """The rotation with a turn about z that fills least of the room, and how much it fills."""
    turned = points @ rotation.T
    angle = np.pi * np.arange(_TURNS) / _TURNS
    c, s = np.cos(angle), np.sin(angle)
    # the depth is the width a quarter turn before
    extent = np.ptp(turned[:, :2] @ np.stack([c, -s]), axis=0)
    width, depth = extent / room[0], np.roll(extent, _TURNS // 2) / room[1]
    # of turns that fill alike the one with the most room on the other side too
    best = int(np.argmin(np.maximum(width, depth) + 1e-3 * np.minimum(width, depth)))
    fill = max(float(width[best]), float(depth[best]), float(np.ptp(turned[:, 2]) / room[2]))
    turn = np.array([[c[best], -s[best], 0.0], [s[best], c[best], 0.0], [0.0, 0.0, 1.0]])
    return turn @ rotation, fill
