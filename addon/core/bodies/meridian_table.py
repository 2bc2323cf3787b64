# SPDX-License-Identifier: GPL-3.0-or-later
"""Where on a convex meridian to look for the nearest point: a table over (|x|, rho)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask
from .meridian_edges import Complex, MeridianEdges

_COLUMNS = 192
_ROWS = 384
_MARGIN_SHARE = 0.2
"""The table reaches past the body by this share of its radius; points farther out use its last cells."""
_BLOCK = 1024
"""Cells handled at a time."""
_SLACK = 1e-9
"""Rounding, mm: far above that of the figures here, far below a cell."""


@dataclass(frozen=True, eq=False)
class MeridianTable:
    """Cells over (|x|, rho); the cell of a point is floor(rho * per_height) * columns + floor(|x| * per_width), cut off.

    start : (cells,) int, the edge that is nearest for the middle of the cell
    first, last : (cells,) int; for a point inside the body in this cell, the edges whose lines may be nearest are first..last
    outside : (cells,) bool, no point of the cell is in the body
    proven : (cells,) bool, start is the nearest edge for all points of the cell
    """

    columns: int
    rows: int
    per_width: float
    per_height: float
    start: Index
    first: Index
    last: Index
    outside: Mask
    proven: Mask


def meridian_table(edges: MeridianEdges) -> MeridianTable:
    """Table for a convex meridian.

    Inside, the height over line j at a point is normal_j . p - offset_j. Within a radius r of the middle of the cell the
    difference of the heights over j and k changes by at most |normal_j - normal_k| r, so j can beat the best line k of the
    middle only if it is behind it by no more than that: this gives first..last.
    Outside, the places whose nearest point lies on one edge (its ends included) are bounded by two lines: squares to the
    neighbor edges, through the corners. A cell with its four corners between them is wholly between them.
    """
    largest_offset, largest_radius = edges.corner.real.max(), edges.corner.imag.max()
    reach = np.array([largest_offset, largest_radius]) + _MARGIN_SHARE * largest_radius
    size = reach / (_COLUMNS, _ROWS)
    column, row = (grid.ravel() for grid in np.meshgrid(np.arange(_COLUMNS), np.arange(_ROWS)))
    middle: Complex = (column + 0.5) * size[0] + 1j * (row + 0.5) * size[1]
    radius = 0.5 * float(np.hypot(*size)) + _SLACK
    start, height = edges.highest(middle)
    outside = height > radius
    beyond = np.flatnonzero(height > 0.0)
    first, last = start.copy(), start.copy()
    near = np.flatnonzero(~outside)
    first[near], last[near] = _able_lines(edges, middle[near], start[near], height[near], radius)
    start[beyond] = edges.nearest_from(middle[beyond], start[beyond])
    # Points off the table use its last cells: nothing is proven for them.
    proven = (outside | ((first == last) & (first == start))) & (column < _COLUMNS - 1) & (row < _ROWS - 1)
    lean = np.flatnonzero(proven & (height > -radius))
    proven[lean] = _between_neighbors(edges, middle[lean], start[lean], size)
    return MeridianTable(_COLUMNS, _ROWS, 1.0 / size[0], 1.0 / size[1], start, first, last, outside, proven)


def _able_lines(edges: MeridianEdges, middle: Complex, best: Index, height: Array, radius: float) -> tuple[Index, Index]:
    """First and last line that may be the highest one anywhere within the radius of each middle."""
    spread = np.abs(edges.turn[:, None] - edges.turn[None, :]) * radius + _SLACK
    first, last = best.copy(), best.copy()
    for begin in range(0, len(middle), _BLOCK):
        some = slice(begin, begin + _BLOCK)
        able = edges.heights(middle[some]) + spread[best[some]] >= height[some, None]
        first[some] = able.argmax(axis=1)
        last[some] = able.shape[1] - 1 - able[:, ::-1].argmax(axis=1)
    return first, last


def _between_neighbors(edges: MeridianEdges, middle: Complex, edge: Index, size: Array) -> Mask:
    """True where all four corners of the cell are nearest to the edge, ends included, or inside."""
    between = np.ones(len(middle), bool)
    before, after = np.maximum(edge - 1, 0), np.minimum(edge + 1, len(edges.half) - 1)
    for shift_x in (-0.5, 0.5):
        for shift_rho in (-0.5, 0.5):
            corner: Complex = middle + (shift_x * size[0] + 1j * shift_rho * size[1])
            between &= (edges.local(corner, before).real >= edges.half[before]) | (edge == before)
            between &= (edges.local(corner, after).real <= -edges.half[after]) | (edge == after)
    return between
