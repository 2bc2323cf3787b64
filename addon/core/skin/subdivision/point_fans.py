# SPDX-License-Identifier: GPL-3.0-or-later
"""The half-edges around points, in order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Index, Mask
from .neighborhood_batch import NeighborhoodBatch


@dataclass(frozen=True, eq=False)
class PointFans:
    """Half-edges that leave some points, counterclockwise.

    spokes : (m, k) int; row i holds count[i] half-edges that leave point i, then -1
    count : (m,) int, faces at the point
    closed : (m,) bool; an open fan starts with the half-edge along the boundary, and its last face ends at the boundary
    """

    spokes: Index
    count: Index
    closed: Mask


def point_fans(batch: NeighborhoodBatch, points: Index) -> PointFans:
    """Fans of points of the core, around which all faces are present. points : (m,) int, each at most once."""
    leaving = np.full(len(batch.weights), -1)
    leaving[batch.origin] = np.arange(len(batch.origin))
    at_boundary = np.flatnonzero(batch.twin < 0)
    leaving[batch.origin[at_boundary]] = at_boundary
    start = leaving[points]
    columns = [start]
    count = np.ones(len(points), dtype=np.int64)
    closed = np.zeros(len(points), bool)
    active = np.arange(len(points))
    spoke = start
    while len(active):
        spoke = batch.twin[batch.before[spoke]]
        back = spoke == start[active]
        closed[active[back]] = True
        onward = (spoke >= 0) & ~back
        active, spoke = active[onward], spoke[onward]
        if len(active):
            column = np.full(len(points), -1)
            column[active] = spoke
            columns.append(column)
            count[active] += 1
    return PointFans(np.stack(columns, axis=1), count, closed)
