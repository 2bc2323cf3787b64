# SPDX-License-Identifier: GPL-3.0-or-later
"""Binary PLY with the clearance at each vertex."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from ..core.base.arrays import Array
from ..core.mesh.triangle_mesh import TriangleMesh

VERTEX = np.dtype([("position", "<f8", 3), ("clearance", "<f4")])
FACE = np.dtype([("count", "u1"), ("corners", "<i4", 3)])


def write_ply(path: Path, mesh: TriangleMesh, clearance: Array) -> None:
    """Write a binary little endian PLY with a vertex property `clearance`.

    clearance : (n,) float, mm, one for each vertex of the mesh
    Raises ValueError if the counts differ, OSError if the file cannot be written.
    """
    if clearance.shape != (len(mesh.vertices),):
        raise ValueError(f"clearance: shape {clearance.shape}, expected ({len(mesh.vertices)},)")
    vertices = np.zeros(len(mesh.vertices), VERTEX)
    vertices["position"], vertices["clearance"] = mesh.vertices, clearance
    faces = np.zeros(len(mesh.triangles), FACE)
    faces["count"], faces["corners"] = 3, mesh.triangles
    header = [
        "ply",
        "format binary_little_endian 1.0",
        "comment Fenderwright, mm, wheel axes",
        f"element vertex {len(vertices)}",
        *(f"property double {axis}" for axis in "xyz"),
        "property float clearance",
        f"element face {len(faces)}",
        "property list uchar int vertex_indices",
        "end_header",
        "",
    ]
    with open(path, "wb") as file:
        file.write("\n".join(header).encode("ascii"))
        file.write(vertices.tobytes())
        file.write(faces.tobytes())
