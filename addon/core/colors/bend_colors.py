# SPDX-License-Identifier: GPL-3.0-or-later
"""Colors for how far a bent part moves: the map of the clearances, from rest to the largest movement."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Array
from .clearance_map import LegendStep, clearance_colors, clearance_legend


def bend_colors(movement: Array) -> NDArray[np.float32]:
    """(n, 4) float32, sRGB and alpha, of movements (n, 3), mm."""
    length = np.linalg.norm(movement, axis=1)
    return clearance_colors(length, movement, max(float(length.max()), 1e-9))


def bend_legend(most_mm: float | None) -> tuple[LegendStep, ...]:
    """Fields of the legend of these colors. most_mm : the largest movement, None where only shares of it are known"""
    fields = clearance_legend(0.0, 100.0 if most_mm is None else most_mm)[1:]
    if most_mm is None:
        return tuple(replace(field, text=field.text.split(".")[0] + " %") for field in fields)
    return tuple(replace(field, text=field.text.replace("+", "")) for field in fields)
