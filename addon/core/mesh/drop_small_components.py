# SPDX-License-Identifier: GPL-3.0-or-later
"""A closed mesh without bodies too small to be any."""

from __future__ import annotations

import numpy as np

from .triangle_mesh import TriangleMesh, connected_components

SPECK_MM3 = 1e-3
"""A flat needle of rounding where two faces nearly meet in one plane; a printed dot has ten times as much. Our choice."""


def drop_small_components(mesh: TriangleMesh, most: float = SPECK_MM3) -> TriangleMesh:
    """The mesh without its parts of no more than `most`, mm3, either way about; at least the largest stays."""
    labels = connected_components(len(mesh.vertices), mesh.triangles)[mesh.triangles[:, 0]]
    names, part = np.unique(labels, return_inverse=True)
    if len(names) == 1:
        return mesh
    a, b, c = np.moveaxis(mesh.corners - mesh.vertices[mesh.triangles[0, 0]], 1, 0)
    volumes = np.abs(np.bincount(part, np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0))
    kept = mesh.triangles[((volumes > most) | (volumes == volumes.max()))[part]]
    used, triangles = np.unique(kept, return_inverse=True)
    return TriangleMesh(mesh.vertices[used], triangles.reshape(-1, 3))
