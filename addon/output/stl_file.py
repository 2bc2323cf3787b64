# SPDX-License-Identifier: GPL-3.0-or-later
"""Binary STL."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from ..core.mesh.triangle_mesh import TriangleMesh

HEADER = b"Fenderwright, mm, wheel axes"
FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def write_stl(path: Path, mesh: TriangleMesh) -> None:
    """Write a binary STL: 84 + 50 m bytes for m triangles, little endian float32, corners counterclockwise from outside.

    A triangle without area gets the normal (0, 0, 0). Raises OSError if the file cannot be written.
    Layout: 80 bytes of header that do not begin with "solid", uint32 count, then 50 bytes a facet (the format's
    published description; it has no field for the unit, millimeters are customary).
    """
    facets = np.zeros(len(mesh.triangles), FACET)
    vectors = mesh.area_vectors
    areas = np.linalg.norm(vectors, axis=1, keepdims=True)
    facets["normal"] = np.divide(vectors, areas, out=np.zeros_like(vectors), where=areas > 0)
    facets["corners"] = mesh.corners
    with open(path, "wb") as file:
        file.write(HEADER.ljust(80))
        file.write(np.uint32(len(facets)).astype("<u4").tobytes())
        file.write(facets.tobytes())
