# SPDX-License-Identifier: GPL-3.0-or-later
"""Stencil rows gathered into small dense blocks, so that dense products do the work of a sparse one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask
from .stencil_rows import StencilRows

ROWS_IN_BLOCK = 64
"""Skin points in a block: about one 20 mm cell at the usual fineness."""
_WIDTH_STEP = 4


@dataclass(frozen=True, eq=False)
class BlockGroup:
    """Blocks of one width.

    columns : (b, u) int, the cage points of each block, padded with point 0
    weight, x_weight : (b, r, u) float, zero in the padding
    """

    columns: Index
    weight: Array
    x_weight: Array
    mirrored: Index
    """(c,) int, the blocks where x_weight differs from weight."""


@dataclass(frozen=True, eq=False)
class StencilBlocks:
    """Rows of a stencil in an order that keeps neighbors together.

    groups : in this order their rows follow each other
    row : (b * r,) int, the stencil row of each blocked row; the last row stands in for those that are missing in a block
    """

    groups: tuple[BlockGroup, ...]
    row: Index

    @property
    def point_count(self) -> int:
        """The least number of cage points that the rows need."""
        return 1 + max((int(group.columns.max()) for group in self.groups), default=-1)

    @property
    def block_count(self) -> int:
        return sum(len(group.columns) for group in self.groups)

    def apply(self, points: Array) -> Array:
        """Skin points (b * r, 3) in blocked order, from cage points (n, 3)."""
        parts = [_apply(group, points) for group in self.groups]
        if not parts:
            return np.zeros((0, 3))
        return parts[0] if len(parts) == 1 else np.concatenate(parts)

    def reached(self, moved: Mask) -> StencilBlocks:
        """Only the blocks that hold a weight of a moved cage point. moved : (n,) bool."""
        groups, rows, first = [], [], 0
        for group in self.groups:
            count, size = group.weight.shape[:2]
            taken = ((group.weight != 0.0).any(axis=1) & moved[group.columns]).any(axis=1)
            rows.append(self.row[first : first + count * size].reshape(count, size)[taken].ravel())
            first += count * size
            if taken.any():
                groups.append(_group(group.columns[taken], group.weight[taken], group.x_weight[taken]))
        return StencilBlocks(tuple(groups), np.concatenate(rows))

    def thinned(self, places: Index) -> StencilBlocks:
        """Only the rows at these places of every block. places : (c,) int, less than the rows of a block."""
        if not self.groups:
            return self
        groups = [_group(group.columns, group.weight[:, places], group.x_weight[:, places]) for group in self.groups]
        size = self.groups[0].weight.shape[1]
        return StencilBlocks(tuple(groups), self.row.reshape(-1, size)[:, places].ravel())

    def dense_rows(self, which: Index, point_count: int) -> tuple[Array, Array]:
        """Weights and x weights, (k, n) float each, of blocked rows. which : (k,) int."""
        weight, x_weight = np.zeros((len(which), point_count)), np.zeros((len(which), point_count))
        first = 0
        for group in self.groups:
            count, size = group.weight.shape[:2]
            at = np.flatnonzero((which >= first) & (which < first + count * size))
            block, offset = np.divmod(which[at] - first, size)
            first += count * size
            # Padding repeats a column with weight zero: add, do not assign.
            np.add.at(weight, (at[:, None], group.columns[block]), group.weight[block, offset])
            np.add.at(x_weight, (at[:, None], group.columns[block]), group.x_weight[block, offset])
        return weight, x_weight

    def reach(self, moved: Mask) -> Array:
        """Root of the sum of the squared weights on moved cage points, (b * r,) float."""
        parts = []
        for group in self.groups:
            on_moved = moved[group.columns][:, None, :]
            parts.append(np.sqrt(((group.weight**2 + group.x_weight**2) * on_moved).sum(axis=2) / 2.0).ravel())
        return np.concatenate(parts) if parts else np.zeros(0)


def stencil_blocks(stencil: StencilRows) -> StencilBlocks:
    """Gather the rows of a stencil into blocks of ROWS_IN_BLOCK neighbors."""
    order = _neighbors_together(stencil)
    block_count = -(-len(order) // ROWS_IN_BLOCK)
    order = np.concatenate([order, np.full(block_count * ROWS_IN_BLOCK - len(order), order[-1])])
    entry, blocked_row = _entries_in_order(stencil, order)
    used = (stencil.weight[entry] != 0.0) | (stencil.x_weight[entry] != 0.0)
    entry, blocked_row = entry[used], blocked_row[used]
    block, offset = np.divmod(blocked_row, ROWS_IN_BLOCK)
    point_count = int(stencil.index.max()) + 1
    present = np.zeros((block_count, point_count), bool)
    present[block, stencil.index[entry]] = True
    place = np.cumsum(present, axis=1) - 1
    width = (present.sum(axis=1) + _WIDTH_STEP - 1) // _WIDTH_STEP * _WIDTH_STEP
    groups, rows = [], []
    for size in np.unique(width):
        chosen = np.flatnonzero(width == size)
        number = np.full(block_count, -1)
        number[chosen] = np.arange(len(chosen))
        inside = number[block] >= 0
        at = (number[block[inside]], offset[inside], place[block[inside], stencil.index[entry[inside]]])
        weight = np.zeros((len(chosen), ROWS_IN_BLOCK, int(size)))
        x_weight = np.zeros_like(weight)
        weight[at], x_weight[at] = stencil.weight[entry[inside]], stencil.x_weight[entry[inside]]
        columns = np.zeros((len(chosen), int(size)), np.int64)
        in_block, point = np.nonzero(present[chosen])
        columns[in_block, place[chosen][in_block, point]] = point
        groups.append(_group(columns, weight, x_weight))
        rows.append(order.reshape(block_count, ROWS_IN_BLOCK)[chosen].ravel())
    return StencilBlocks(tuple(groups), np.concatenate(rows))


def _group(columns: Index, weight: Array, x_weight: Array) -> BlockGroup:
    differs = np.flatnonzero((weight != x_weight).any(axis=(1, 2)))
    return BlockGroup(columns, weight, x_weight, differs)


def _apply(group: BlockGroup, points: Array) -> Array:
    taken = points[group.columns]
    skin = group.weight @ taken
    if len(group.mirrored):
        part = group.mirrored
        skin[part, :, 0] = (group.x_weight[part] @ taken[part, :, :1])[:, :, 0]
    return skin.reshape(-1, 3)


def _neighbors_together(stencil: StencilRows) -> Index:
    """Rows as they are where they come face by face, else by their two heaviest cage points, a corner of a face together."""
    if stencil.blocks is not None:
        return np.arange(stencil.row_count)
    row = np.repeat(np.arange(stencil.row_count), np.diff(stencil.starts))
    heaviest, rest = _heaviest(stencil, stencil.weight, row)
    second, _ = _heaviest(stencil, rest, row)
    order: Index = np.lexsort((second, heaviest))
    return order


def _heaviest(stencil: StencilRows, weight: Array, row: Index) -> tuple[Index, Array]:
    """The heaviest cage point of each row, and the weights without it."""
    starts = stencil.starts[:-1]
    largest = np.maximum.reduceat(weight, starts)
    index = np.maximum.reduceat(np.where(weight >= largest[row], stencil.index, -1), starts)
    return index, np.where(stencil.index == index[row], -1.0, weight)


def _entries_in_order(stencil: StencilRows, order: Index) -> tuple[Index, Index]:
    """Entry numbers of the rows in order, and the place in order that each belongs to."""
    count = np.diff(stencil.starts)[order]
    blocked_row = np.repeat(np.arange(len(order)), count)
    first = np.repeat(stencil.starts[order] - np.concatenate([[0], np.cumsum(count)[:-1]]), count)
    return first + np.arange(len(blocked_row)), blocked_row
