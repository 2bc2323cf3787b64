# SPDX-License-Identifier: GPL-3.0-or-later
"""Holes in a skin, found by its edges."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from ..mesh.triangle_mesh import connected_components


def hole_places(points: Array, boundary_edges: Index) -> tuple[Array, ...]:
    """Middles (3,) of the holes of a skin, or of its half: of all runs of edges but the longest, which goes round the skin.

    points : (p, 3) float, mm; boundary_edges : (b, 2) int, those on the mirror plane are not among them
    A hole over the mirror plane has its run from plane to plane, and the skin's outer edge too.
    """
    if len(boundary_edges) == 0:
        return ()
    ends, edges = np.unique(boundary_edges, return_inverse=True)
    label = connected_components(len(ends), edges.reshape(-1, 2))
    runs = [ends[label == name] for name in np.unique(label)]
    way = [np.linalg.norm(np.ptp(points[run], axis=0)) for run in runs]
    outer = int(np.argmax(way))
    return tuple(points[run].mean(axis=0) for i, run in enumerate(runs) if i != outer)
