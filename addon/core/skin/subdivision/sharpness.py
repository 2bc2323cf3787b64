# SPDX-License-Identifier: GPL-3.0-or-later
"""Sharpness of creased edges and points, in the host's way."""

from __future__ import annotations

import numpy as np

from ...base.arrays import Array
from ..cage import CageTopology
from .whole_cage import WholeCage

INFINITE = 10.0
"""A sharpness from here on never fades (OpenSubdiv, Sdc::Crease::SHARPNESS_INFINITE)."""

ISOLATION = 3
"""Levels of subdivision down to which the host looks closer at what is not regular: its default quality of the limit surface."""


def sharpness_of_crease(crease: Array) -> Array:
    """Sharpness from the host's crease 0..1: 10 crease^2, found by trial (test_skin_matches_host)."""
    return INFINITE * np.square(crease)


def whole_sharpness(topology: CageTopology, whole: WholeCage) -> tuple[dict[tuple[int, int], float], list[float]]:
    """Sharpness of the whole cage: of directed edges (both ways; only those that are sharp), and of its points.

    With keep_corners, points in one face only are infinitely sharp.
    """
    images = np.arange(topology.point_count)
    images[~topology.on_plane] = topology.point_count + np.arange(int((~topology.on_plane).sum()))
    edges: dict[tuple[int, int], float] = {}
    for (a, b), value in zip(topology.crease_edges.tolist(), sharpness_of_crease(topology.creases).tolist(), strict=True):
        if value > 0.0:
            edges[a, b] = edges[b, a] = value
            if topology.mirrored:
                c, d = int(images[a]), int(images[b])
                edges[c, d] = edges[d, c] = value
    points = sharpness_of_crease(topology.point_creases)[whole.cage_point]
    neighbors: dict[int, set[int]] = {}
    for a, b in whole.half_edges:
        neighbors.setdefault(a, set()).add(b)
        neighbors.setdefault(b, set()).add(a)
    for point, others in neighbors.items():
        if topology.keep_corners and len(whole.corners_of_point[point]) == 1:
            points[point] = INFINITE
        elif len(others) == 2:
            points[point] += min(edges.get((point, other), 0.0) for other in others)
    return edges, points.tolist()
