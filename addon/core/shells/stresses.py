# SPDX-License-Identifier: GPL-3.0-or-later
"""Stress on both faces of a shell that is bent."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from .elastic import Elastic
from .membrane_triangle import membrane_strain
from .plate_triangle import plate_curvature
from .shell_elements import IN_PLANE, OUT_OF_PLANE, local_movement
from .shell_mesh import ShellMesh

_CENTER = np.full(3, 1.0 / 3.0)


def face_stresses(mesh: ShellMesh, material: Elastic, movement: Array) -> Array:
    """(2, m, 3, 3) stress tensors on the outer and the inner face of each triangle at its center, MPa, in the axes of the points.

    movement : (n, 6) float, mm and radians
    """
    moved = local_movement(mesh, movement)
    stretch = np.einsum("mif,mf->mi", membrane_strain(mesh.flat_corners), moved[:, IN_PLANE])
    bend = np.einsum(
        "mif,mf->mi",
        plate_curvature(mesh.flat_corners, mesh.corner_thickness, material.plane_stress, _CENTER),
        moved[:, OUT_OF_PLANE],
    )
    half = 0.5 * mesh.corner_thickness.mean(axis=1)[:, None]
    flat = np.stack([stretch + half * bend, stretch - half * bend]) @ material.plane_stress
    local = np.stack([np.stack([flat[..., 0], flat[..., 2]], axis=-1), np.stack([flat[..., 2], flat[..., 1]], axis=-1)], axis=-2)
    plane = mesh.frames[:, :2]
    return np.asarray(np.swapaxes(plane, 1, 2) @ local @ plane)
