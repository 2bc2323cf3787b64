# SPDX-License-Identifier: GPL-3.0-or-later
"""A gauge in one closed mesh."""

from __future__ import annotations

from ..base.errors import ShapeError
from ..mesh.boolean import difference, file_body, file_mesh, separate_parts, solid, union
from ..mesh.triangle_mesh import TriangleMesh
from .gauge import Gauge

SPECK_MM3 = 0.1
"""Less than a bead of plastic as long as it is wide, such as a void where letters cross."""


def gauge_mesh(gauge: Gauge) -> TriangleMesh:
    """The solids of a gauge in one, without its cuts: closed, wheel axes, as files hold it.

    Raises ShapeError if one of them is open, nothing is left, or the gauge falls into parts.
    """
    body = union([solid(mesh, gauge.title) for mesh in gauge.solids], gauge.title)
    body = difference(body, [solid(mesh, gauge.title) for mesh in gauge.cuts], gauge.title)
    parts = separate_parts(body, SPECK_MM3)
    if len(parts) > 1:
        raise ShapeError(f"{gauge.title}: it falls into {len(parts)} parts")
    return file_mesh(file_body(parts[0]))
