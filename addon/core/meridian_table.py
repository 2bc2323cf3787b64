# SPDX-License-Identifier: GPL-3.0-or-later
"""Where on a convex meridian to look for the nearest point: a table over (|x|, rho)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .arrays import Array, Index, Mask

_COLUMNS = 96
_ROWS = 224
_MARGIN_SHARE = 0.25
"""The table reaches this share of the body's size past it; points farther out use its last cells."""


@dataclass(frozen=True, eq=False)
class MeridianTable:
    """Cells over (|x|, rho); cell of a point is floor(rho / height) * columns + floor(|x| / width), each cut off at the end.

    start : (cells,) int, an edge to begin with
    first, last : (cells,) int; for a point inside the body in this cell, the edges whose lines may be nearest are
        first..last. Equal to each other where only one edge can be.
    outside : (cells,) bool, no point of the cell is in the body
    """

    columns: int
    per_width: float
    per_height: float
    start: Index
    first: Index
    last: Index
    outside: Mask

    @property
    def rows(self) -> int:
        return len(self.start) // self.columns


def meridian_table(normals: Array, offsets: Array, reach_x: float, reach_rho: float) -> MeridianTable:
    """Table for the convex set of all p with normals @ p <= offsets.

    normals : (m, 2) float, unit outward normals of the edges in order from the crown; offsets : (m,) float, mm
    reach_x, reach_rho : extent of the body, mm
    Proof of first..last: the value of line j at a point is normals[j] @ p - offsets[j]. Within a radius r of the middle of
    the cell the difference of lines j and k changes by at most |normals[j] - normals[k]| r, so j can beat the best line k
    of the middle only if it is behind it by no more than that.
    """
    width = reach_x * (1.0 + _MARGIN_SHARE) / _COLUMNS
    height = reach_rho * (1.0 + _MARGIN_SHARE) / _ROWS
    x, rho = np.meshgrid((np.arange(_COLUMNS) + 0.5) * width, (np.arange(_ROWS) + 0.5) * height)
    middles = np.stack([x.ravel(), rho.ravel()], axis=1)
    radius = 0.5 * float(np.hypot(width, height)) * (1.0 + 1e-9)
    values = middles @ normals.T
    values -= offsets
    start = values.argmax(axis=1)
    best = values.max(axis=1)
    outside = best > radius
    first, last = start.copy(), start.copy()
    near = np.flatnonzero(~outside)
    spread = np.linalg.norm(normals[:, None, :] - normals[None, :, :], axis=2) * radius
    able = values[near] + spread[start[near]] >= best[near, None] - 1e-9
    first[near] = able.argmax(axis=1)
    last[near] = able.shape[1] - 1 - able[:, ::-1].argmax(axis=1)
    return MeridianTable(_COLUMNS, 1.0 / width, 1.0 / height, start, first, last, outside)
