# SPDX-License-Identifier: GPL-3.0-or-later
"""Points of a mesh in rows, each of which touches only the one before it and the one after it."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Index, Mask


def point_levels(triangles: Index, count: int) -> tuple[Index, ...]:
    """Points in rows that begin at an end of the mesh; points in no triangle are left out.

    triangles : (m, 3) int; count : number of points. Rows of one component follow those of another.
    Level structure of J. A. George and A. Liu (Computer Solution of Large Sparse Positive Definite Systems, 1981, ch. 4): started
    from a point that is as far as any from where a first search ended, so that rows are short.
    """
    starts, neighbors = _neighbors(triangles, count)
    unseen = np.zeros(count, dtype=bool)
    unseen[triangles.ravel()] = True
    rows: list[Index] = []
    while unseen.any():
        root = int(np.argmax(unseen))
        component = _search(starts, neighbors, np.array([root]), unseen)
        for _ in range(2):
            last = component[-1]
            root = int(last[np.argmin(np.diff(starts)[last])])
            component = _search(starts, neighbors, np.array([root]), unseen)
        rows += component
        unseen[np.concatenate(component)] = False
    return tuple(rows)


def _neighbors(triangles: Index, count: int) -> tuple[Index, Index]:
    """Neighbors of all points one after the other, and where those of each begin."""
    ends = np.concatenate([triangles[:, [i, j]] for i in range(3) for j in range(3) if i != j])
    ends = np.unique(ends, axis=0)
    return np.searchsorted(ends[:, 0], np.arange(count + 1)), ends[:, 1]


def _search(starts: Index, neighbors: Index, row: Index, allowed: Mask) -> list[Index]:
    """Rows from a first one on, each the neighbors of the one before that are in none yet."""
    free = allowed.copy()
    rows = []
    while len(row):
        rows.append(row)
        free[row] = False
        spans = [neighbors[starts[point] : starts[point + 1]] for point in row.tolist()]
        following = np.unique(np.concatenate(spans)) if spans else row[:0]
        row = following[free[following]]
    return rows
