# SPDX-License-Identifier: GPL-3.0-or-later
"""Flat triangular shell elements: the membrane triangle and the plate triangle, turned to where they are.

Freedoms of a point: its movement in x, y, z, then its rotation about x, y, z.
"""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from .elastic import Elastic
from .membrane_triangle import membrane_stiffness
from .plate_triangle import plate_stiffness
from .shell_mesh import ShellMesh

IN_PLANE: Index = np.array([6 * k + freedom for k in range(3) for freedom in (0, 1, 5)])
OUT_OF_PLANE: Index = np.array([6 * k + freedom for k in range(3) for freedom in (2, 3, 4)])
"""Which of the 18 freedoms of a triangle, in its own frame, belong to its stretching and to its bending."""


def element_stiffness(mesh: ShellMesh, material: Elastic) -> Array:
    """(m, 18, 18) stiffness of each triangle in the axes of the points, N and mm."""
    plane_stress, corners = material.plane_stress, mesh.flat_corners
    local = np.zeros((len(corners), 18, 18))
    thickness = mesh.corner_thickness
    local[:, IN_PLANE[:, None], IN_PLANE] = membrane_stiffness(corners, thickness.mean(axis=1), plane_stress, material.poisson)
    local[:, OUT_OF_PLANE[:, None], OUT_OF_PLANE] = plate_stiffness(corners, thickness, plane_stress)
    turn = _turns(mesh)
    return np.asarray(np.swapaxes(turn, 1, 2) @ local @ turn)


def local_movement(mesh: ShellMesh, movement: Array) -> Array:
    """(m, 18) freedoms of each triangle in its own frame. movement : (n, 6) float, mm and radians"""
    corners = movement[mesh.triangles].reshape(-1, 6, 3)
    return np.asarray(np.einsum("mij,maj->mai", mesh.frames, corners).reshape(-1, 18))


def point_mass(mesh: ShellMesh, material: Elastic) -> Array:
    """(n, 6) mass of each freedom, tonnes, and tonne mm2 for the rotations: a third of each triangle goes to its corners.

    What a rotation carries is the rotary inertia of the wall, t^2 / 12 of its mass.
    """
    thickness = mesh.corner_thickness
    share = material.tonne_per_mm3 * mesh.areas[:, None] * thickness / 3.0
    mass = np.bincount(mesh.triangles.ravel(), share.ravel(), len(mesh.points))
    turning = np.bincount(mesh.triangles.ravel(), (share * thickness**2 / 12.0).ravel(), len(mesh.points))
    return np.repeat(np.stack([mass, turning], axis=1), 3, axis=1)


def _turns(mesh: ShellMesh) -> Array:
    """(m, 18, 18): from the axes of the points to the frames of the triangles."""
    turns = np.zeros((len(mesh.triangles), 18, 18))
    for k in range(0, 18, 3):
        turns[:, k : k + 3, k : k + 3] = mesh.frames
    return turns
