# SPDX-License-Identifier: GPL-3.0-or-later
"""Colors for draft: the map of the clearances, from the least draft that comes off upward."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Array
from ..tables.mold_rules import WARN_DRAFT_DEG
from .clearance_map import LegendStep, clearance_colors, clearance_legend

_SPAN_DEG = 20.0
"""Over which the colors run; more draft than that needs no telling apart."""


def draft_colors(angles: Array, points: Array) -> NDArray[np.float32]:
    """(n, 4) float32, sRGB and alpha, of drafts (n,), deg, at points (n, 3); striped where there is too little to come off."""
    return clearance_colors(angles - WARN_DRAFT_DEG, points, _SPAN_DEG)


def draft_legend() -> tuple[LegendStep, ...]:
    """Fields of the legend of these colors."""
    return clearance_legend(WARN_DRAFT_DEG, _SPAN_DEG, unit="deg")
