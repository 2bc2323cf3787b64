# SPDX-License-Identifier: GPL-3.0-or-later
"""Colors for how far a shape lies inside (blue) or outside (orange) of another, and gray where it goes past its edge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Array, Mask
from ..tables.clearance_map import BLUE, ORANGE
from .clearance_map import LegendStep

_SAME = np.array([0.96, 0.96, 0.94])
_BEYOND = (0.55, 0.55, 0.55)
_STEPS_MM = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)


def difference_span(out: Array, beyond: Mask) -> float:
    """The least round figure, mm, that holds 99 of 100 differences. out : (n,) float, mm; beyond : (n,) bool, left out"""
    over = np.abs(out[~beyond])
    most = float(np.percentile(over, 99.0)) if len(over) else 0.0
    return next((step for step in _STEPS_MM if step >= most), _STEPS_MM[-1])


def difference_colors(out: Array, beyond: Mask, span: float) -> NDArray[np.float32]:
    """(n, 4) float32, sRGB and alpha; full colors at span, mm, and past it."""
    share = np.clip(np.abs(out) / span, 0.0, 1.0)[:, None]
    side = np.where((out < 0.0)[:, None], np.array(BLUE), np.array(ORANGE))
    colors = np.ones((len(out), 4), np.float32)
    colors[:, :3] = np.where(beyond[:, None], np.array(_BEYOND), _SAME + share * (side - _SAME))
    return colors


def difference_legend(span: float) -> tuple[LegendStep, ...]:
    """Fields of the legend, inside first, past the edge last."""
    shares = np.linspace(-1.0, 1.0, 5)
    colors = difference_colors(shares * span, np.zeros(5, bool), span)
    fields = [
        LegendStep(f"{share * span:+.1f} mm" if share else "0 mm", tuple(float(value) for value in color[:3]), False)  # type: ignore[arg-type]
        for share, color in zip(shares, colors, strict=True)
    ]
    return (*fields, LegendStep("past its edge", _BEYOND, False))
