# SPDX-License-Identifier: GPL-3.0-or-later
"""Colors for the distances of a scan from the fitted tire."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...base.arrays import Array
from ...tables.scan_colors import NOT_ON_TIRE, RED_BLUE, Color

REACH = 4.0
"""Standard deviations that the colors reach to, at least."""
ROUND_MM = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
"""Ends of the legend, so that its figures are round."""
_PLACES = np.linspace(-1.0, 1.0, len(RED_BLUE))
_ANCHORS = np.array(RED_BLUE, dtype=np.float64)


@dataclass(frozen=True)
class LegendField:
    """One field of the legend: text in mm, color sRGB."""

    text: str
    color: Color


def residual_range(rms_mm: float) -> float:
    """Distance, mm, at which the colors end: the least of ROUND_MM that is REACH standard deviations, or the last."""
    return next((value for value in ROUND_MM if value >= REACH * rms_mm), ROUND_MM[-1])


def residual_colors(residuals: Array, range_mm: float) -> NDArray[np.float32]:
    """Color of each point: blue inside of the fitted surface, white on it, red outside; gray where it is not on the tire.

    residuals : (n,) float, mm, outward, NaN where a point is not on the tire
    Returns (n, 4) float32, sRGB and alpha, 0..1.
    """
    on_tire = np.isfinite(residuals)
    share = np.clip(np.where(on_tire, residuals, 0.0) / range_mm, -1.0, 1.0)
    colors = np.ones((len(residuals), 4), dtype=np.float32)
    for channel in range(3):
        colors[:, channel] = np.where(on_tire, np.interp(share, _PLACES, _ANCHORS[:, channel]), NOT_ON_TIRE[channel])
    return colors


def residual_legend(range_mm: float) -> tuple[LegendField, ...]:
    """Fields of the legend from inside to outside, then the gray one."""
    picked = ((0, f"-{range_mm:g} mm and further in"), (5, "0 mm"), (10, f"+{range_mm:g} mm and further out"))
    return (*(LegendField(text, RED_BLUE[place]) for place, text in picked), LegendField("not on the tire", NOT_ON_TIRE))
