# SPDX-License-Identifier: GPL-3.0-or-later
"""Analytic skins for the tests of the solid, and outside views of its meshes."""

import manifold3d
import numpy as np
import trimesh

from addon.core.base.arrays import Array
from addon.core.base.wheel_axes import point_at
from addon.core.mesh.open_surface import Surface, surface_of_quads
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.seat.seat import Seat


def grid_quads(rows: int, columns: int) -> Array:
    i = np.arange(rows * columns).reshape(rows, columns)
    return np.stack([i[:-1, :-1], i[:-1, 1:], i[1:, 1:], i[1:, :-1]], axis=-1).reshape(-1, 4)


def torus_surface(
    crown: float = 320.0,
    section: float = 80.0,
    rear: float = -80.0,
    front: float = 35.0,
    half_angle: float = 70.0,
    rows: int = 70,
    columns: int = 31,
) -> Surface:
    """A segment of a torus about the axle: crown radius, radius of the section, stations, half angle of the section."""
    station, angle = np.meshgrid(
        np.linspace(rear, front, rows), np.radians(np.linspace(-half_angle, half_angle, columns)), indexing="ij"
    )
    points = point_at(crown - section + section * np.cos(angle), station, section * np.sin(angle)).reshape(-1, 3)
    normals = point_at(np.cos(angle), station, np.sin(angle)).reshape(-1, 3)
    return facing(points, normals, grid_quads(rows, columns))


def plane_surface(outline_x: Array, outline_y: Array, keep: Array | None = None) -> Surface:
    """A grid in the plane z = 0; keep : (rows - 1, columns - 1) bool, the quads to keep."""
    y, x = np.meshgrid(outline_y, outline_x, indexing="ij")
    points = np.stack([x.ravel(), y.ravel(), np.zeros(x.size)], axis=1)
    quads = grid_quads(*x.shape)
    if keep is not None:
        quads = quads[keep.ravel()]
    used, quads = np.unique(quads, return_inverse=True)
    points = points[used]
    return facing(points, np.tile([0.0, 0.0, 1.0], (len(points), 1)), quads.reshape(-1, 4))


def facing(points: Array, normals: Array, quads: Array) -> Surface:
    """A sheet whose triangles run counterclockwise about the normals."""
    a, b, c = (points[quads[:, i]] for i in range(3))
    wrong = np.einsum("ij,ij->i", np.cross(b - a, c - a), normals[quads[:, 0]]) < 0
    return surface_of_quads(points, normals, np.where(wrong[:, None], quads[:, ::-1], quads))


def crown_seat(crown: float = 320.0, **changes: object) -> Seat:
    """A seat of four bolts on the plane z = crown."""
    fields: dict[str, object] = {
        "origin": np.array([0.0, 0.0, crown]),
        "x": np.array([1.0, 0.0, 0.0]),
        "forward": np.array([0.0, -1.0, 0.0]),
        "normal": np.array([0.0, 0.0, 1.0]),
        "bolts": np.array([[20.0, 25.0], [-20.0, 25.0], [20.0, -25.0], [-20.0, -25.0]]),
        "pad": 13.0,
        "blend": 25.0,
    }
    return Seat(**{**fields, **changes})  # type: ignore[arg-type]


def as_manifold(mesh: TriangleMesh) -> manifold3d.Manifold:
    triangles = np.ascontiguousarray(mesh.triangles.astype(np.uint64))
    return manifold3d.Manifold(manifold3d.Mesh64(np.array(mesh.vertices), triangles))


def as_trimesh(mesh: TriangleMesh) -> trimesh.Trimesh:
    return trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
