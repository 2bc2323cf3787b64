# SPDX-License-Identifier: GPL-3.0-or-later
"""Colors for clearances: one published map above what is required, a hatched warning color below it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Array
from ..base.tolerances import TOLERANCES
from ..tables.clearance_map import BLACK, CIVIDIS, VERMILLION

SPAN_MM = 20.0
"""Room beyond the required clearance over which the colors run."""

HATCH_MM = 6.0
"""Width of one light and one dark stripe of the broken zone."""

_ANCHORS = np.array(CIVIDIS, dtype=np.float64)
_TABLE_SIZE = 256
_PLACES = np.linspace(0.0, 1.0, len(_ANCHORS))
_TABLE = np.column_stack([np.interp(np.linspace(0.0, 1.0, _TABLE_SIZE), _PLACES, channel) for channel in _ANCHORS.T]).astype(
    np.float32
)


def clearance_colors(excess: Array, points: Array, span: float = SPAN_MM) -> NDArray[np.float32]:
    """Color of each skin point.

    excess : (n,) float, mm, clearance above what is required; negative where the budget is broken
    points : (n, 3) float, mm; the broken zone is striped across them
    span : mm of excess over which the colors run from dark to light
    Returns (n, 4) float32, sRGB and alpha, 0..1.
    """
    colors = np.ones((len(excess), 4), dtype=np.float32)
    step = np.clip(excess * ((_TABLE_SIZE - 1) / span), 0, _TABLE_SIZE - 1).astype(np.int64)
    np.take(_TABLE, step, axis=0, out=colors[:, :3])
    broken = np.flatnonzero(excess < -TOLERANCES.clear)
    if len(broken):
        dark = np.mod(points[broken].sum(axis=1), HATCH_MM) < 0.5 * HATCH_MM
        colors[broken, :3] = np.where(dark[:, None], np.array(BLACK, np.float32), np.array(VERMILLION, np.float32))
    return colors


@dataclass(frozen=True)
class LegendStep:
    """One field of the legend: text in mm, color sRGB, hatched if it means a broken budget."""

    text: str
    color: tuple[float, float, float]
    hatched: bool


def clearance_legend(required: float, span: float = SPAN_MM, steps: int = 5, unit: str = "mm") -> tuple[LegendStep, ...]:
    """Fields of the legend from the broken zone upward. required, span : mm, or what unit says."""
    fields = [LegendStep(f"under {required:.1f} {unit}", VERMILLION, True)]
    for share in np.linspace(0.0, 1.0, steps):
        red, green, blue = (float(value) for value in _TABLE[round(float(share) * (_TABLE_SIZE - 1))])
        mark = "+" if share == 1.0 else ""
        fields.append(LegendStep(f"{required + share * span:.1f}{mark} {unit}", (red, green, blue), False))
    return tuple(fields)
