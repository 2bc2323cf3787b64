# SPDX-License-Identifier: GPL-3.0-or-later
"""Colors for thicknesses of the wall: the map of the clearances, from what a nozzle can print upward."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Array
from .clearance_map import LegendStep, clearance_colors, clearance_legend

_STEP_MM = 0.5


def wall_colors(thickness: Array, points: Array, least_mm: float) -> NDArray[np.float32]:
    """(n, 4) float32, sRGB and alpha, of thicknesses (n,), mm, at points (n, 3); striped under the least that can be printed."""
    return clearance_colors(thickness - least_mm, points, _span(thickness, least_mm))


def wall_legend(thickness: Array, least_mm: float) -> tuple[LegendStep, ...]:
    """Fields of the legend of these colors."""
    return clearance_legend(least_mm, _span(thickness, least_mm))


def _span(thickness: Array, least_mm: float) -> float:
    """From the least to the thick side of what is there, in whole steps, so that alike walls get alike colors."""
    return float(max(np.ceil(np.percentile(thickness, 99.0) / _STEP_MM + 1e-6) * _STEP_MM - least_mm, _STEP_MM))
