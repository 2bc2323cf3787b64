# SPDX-License-Identifier: GPL-3.0-or-later
"""The part of the skin that a set of moved cage points reaches, and its clearance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..skin.stencil_blocks import ROWS_IN_BLOCK, StencilBlocks

if TYPE_CHECKING:
    from ..clearance.clearance_field import ClearanceField


COARSE_FROM_ROWS = 4096
"""A skin of more rows is first looked at coarsely."""
_COARSE_PLACES: Index = np.arange(0, ROWS_IN_BLOCK, 4) + np.arange(ROWS_IN_BLOCK // 4) % 4
"""A quarter of a block; staggered, for rows of the skin to be hit in turn."""


@dataclass(frozen=True, eq=False)
class SkinState:
    """Where the reached skin is, and its room, for one position of the cage.

    points : (n, 3) float, the cage; skin : (r, 3) float, in blocked order
    excess : (l, r) float, distance minus required clearance for each limit; infinite where no moved point reaches
    normal : (l, r, 3) float, unit gradient of the distance
    """

    points: Array
    skin: Array
    excess: Array
    normal: Array

    @property
    def worst(self) -> float:
        """The least excess, mm; infinite if nothing is reached or nothing limits."""
        return float(self.excess.min(initial=np.inf))

    def plane_values(self, skin: Array) -> Array:
        """(l, r) float: excess of skin points (r, 3) over the planes that support the distance here."""
        values: Array = np.einsum("lrc,rc->lr", self.normal, skin - self.skin)
        values += self.excess
        return values


class MovedSkin:
    """Owns what does not change while the same cage points are moved.

    blocks : the stencil; moved : (n,) bool; field : the limits
    """

    def __init__(self, blocks: StencilBlocks, moved: Mask, field: ClearanceField) -> None:
        self.moved = moved
        self.moved_points: Index = np.flatnonzero(moved)
        self.blocks = blocks.reached(moved)
        self.limits = field.limits
        self._reached = self.blocks.reach(moved) > 0.0
        all_rows = np.arange(self.row_count if self.row_count > COARSE_FROM_ROWS else 0)
        self.coarse_rows: Index = all_rows.reshape(-1, ROWS_IN_BLOCK)[:, _COARSE_PLACES].ravel()
        self.coarse_blocks = self.blocks.thinned(_COARSE_PLACES)

    @property
    def row_count(self) -> int:
        return len(self._reached)

    def state(self, points: Array, skin: Array | None = None) -> SkinState:
        """Evaluate every limit for a cage (n, 3). skin : (r, 3) float, its skin in blocked order where it is known."""
        skin = self.blocks.apply(points) if skin is None else skin
        excess = np.full((len(self.limits), self.row_count), np.inf)
        normal = np.zeros((len(self.limits), self.row_count, 3))
        for number, limit in enumerate(self.limits):
            distance, normal[number] = limit.body.distance_and_gradient(skin)
            excess[number] = distance - limit.required_mm
        excess[:, ~self._reached] = np.inf
        return SkinState(points, skin, excess, normal)

    def coarse(self, state: SkinState) -> SkinState:
        """The state of the coarse rows only."""
        rows = self.coarse_rows
        return SkinState(state.points, state.skin[rows], state.excess[:, rows], state.normal[:, rows])

    def coefficients(self, state: SkinState, planes: Index) -> Array:
        """(k, m, 3) float: change of each plane's distance with each moved point. planes : (k,) int, limit * r + row."""
        limit, row = np.divmod(planes, self.row_count)
        weight, x_weight = self.blocks.dense_rows(row, len(self.moved))
        normal = state.normal[limit, row]
        result: Array = weight[:, self.moved_points, None] * normal[:, None, :]
        result[:, :, 0] = x_weight[:, self.moved_points] * normal[:, None, 0]
        return result
