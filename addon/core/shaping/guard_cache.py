# SPDX-License-Identifier: GPL-3.0-or-later
"""What one guard call can hand to the next, mouse step after mouse step."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..skin.stencil_blocks import StencilBlocks, stencil_blocks
from ..skin.stencil_rows import StencilRows
from .moved_skin import MovedSkin, SkinState

if TYPE_CHECKING:
    from ..clearance.clearance_field import ClearanceField


class GuardCache:
    """Owns the blocks of the last stencil, the skin that the last moved points reach, and its state.

    It only saves work: results are the same without it. One cache a cage.
    """

    def __init__(self) -> None:
        self.active: Index = np.zeros(0, np.int64)
        """Planes that held the last result; numbers of the present MovedSkin."""
        self._stencil: StencilRows | None = None
        self._blocks: StencilBlocks | None = None
        self._field: ClearanceField | None = None
        self._skin: MovedSkin | None = None
        self._state: SkinState | None = None

    def moved_skin(self, stencil: StencilRows, moved: Mask, field: ClearanceField) -> MovedSkin:
        """The skin that moved reaches, prepared anew only when stencil, field or moved is another one.

        Raises ValueError if the stencil needs more cage points than moved (n,) has.
        """
        if self._blocks is None or stencil is not self._stencil:
            self._stencil, self._blocks, self._skin = stencil, stencil_blocks(stencil), None
        if len(moved) < self._blocks.point_count:
            raise ValueError(f"cage: {len(moved)} points, the stencil needs {self._blocks.point_count}")
        if self._skin is None or field is not self._field or not np.array_equal(self._skin.moved, moved):
            self._field, self._skin, self._state = field, MovedSkin(self._blocks, moved.copy(), field), None
            self.active = np.zeros(0, np.int64)
        return self._skin

    def state(self, skin: MovedSkin, points: Array) -> SkinState:
        """The state of skin for a cage, taken over if the last one was that of the same cage."""
        if self._state is None or skin is not self._skin or not np.array_equal(self._state.points, points):
            return skin.state(points)
        return self._state

    def keep(self, state: SkinState, active: Index) -> None:
        """Remember where the present skin ended."""
        self._state, self.active = state, active
