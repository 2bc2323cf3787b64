# SPDX-License-Identifier: GPL-3.0-or-later
"""Meshes for tests, made by trimesh."""

import trimesh

from addon.core.mesh.triangle_mesh import TriangleMesh


def torus_mesh(major: float = 300.0, minor: float = 60.0) -> TriangleMesh:
    """A closed torus about z, mm."""
    return of_trimesh(trimesh.creation.torus(major, minor, major_sections=48, minor_sections=24))


def box_mesh(x: float, y: float, z: float) -> TriangleMesh:
    """A closed box about the origin, mm."""
    return of_trimesh(trimesh.creation.box((x, y, z)))


def of_trimesh(mesh: trimesh.Trimesh) -> TriangleMesh:
    return TriangleMesh(mesh.vertices, mesh.faces)
