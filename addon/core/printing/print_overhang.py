# SPDX-License-Identifier: GPL-3.0-or-later
"""What of a part hangs over, what must be held from below, and what it stands on, as it lies on the printer."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Mask
from ..mesh.columns import columns
from ..mesh.triangle_mesh import TriangleMesh
from ..tables.printing_rules import OVERHANG_DEG

_COLUMN_MM = 2.0


def overhangs(mesh: TriangleMesh, layer: float) -> Mask:
    """(m,) bool: triangles that face down and lean over more than OVERHANG_DEG from the vertical, above the first layer.

    mesh : in printer axes, z up from the bed, mm; layer : height of a layer, mm
    """
    vectors = mesh.area_vectors
    lean = vectors[:, 2] < -np.sin(np.radians(OVERHANG_DEG)) * mesh.areas
    lean[lean] = (mesh.vertices[:, 2] > layer)[mesh.triangles[lean]].any(axis=1)
    return np.asarray(lean)


def overhang_area(mesh: TriangleMesh, hanging: Mask) -> float:
    """Area of the overhangs, mm2. hanging : (m,) bool, see overhangs"""
    return float(mesh.areas[hanging].sum())


def first_layer_area(mesh: TriangleMesh, layer: float) -> float:
    """Area that the first layer covers: of the cut through the part half a layer over the bed, mm2.

    mesh : closed, printer axes. The surface below a cut and the cut itself close a body, so that the cut's area is the sum of
    the projected areas below it (divergence theorem); each triangle's share below is exact.
    """
    at = 0.5 * layer
    below = (mesh.vertices[:, 2] < at)[mesh.triangles.T]
    reached = np.flatnonzero(below[0] | below[1] | below[2])
    low, middle, high = np.sort(mesh.vertices[mesh.triangles[reached], 2], axis=1).T
    with np.errstate(divide="ignore", invalid="ignore"):
        lower = (at - low) ** 2 / ((middle - low) * (high - low))
        upper = 1.0 - (high - at) ** 2 / ((high - low) * (high - middle))
    share = np.select([high <= at, middle >= at], [1.0, lower], upper)
    return float(-(mesh.area_vectors[reached, 2] * share).sum())


def support_room(mesh: TriangleMesh, hanging: Mask, column: float = _COLUMN_MM) -> float:
    """Room between the overhangs and what is right below them, the part itself or the bed, mm3.

    mesh : closed, printer axes; hanging : (m,) bool, see overhangs; column : side of the square columns that are summed, mm
    """
    crossed = columns(mesh, column)
    line = crossed.column * (crossed.row.max(initial=0) + 1) + crossed.row
    order = np.lexsort((crossed.height, line))
    line, height = line[order], crossed.height[order]
    ground = np.zeros(len(height))
    same = line[1:] == line[:-1]
    ground[1:][same] = height[:-1][same]
    held = hanging[crossed.triangle[order]]
    return float((height - ground)[held].sum() * column**2)
