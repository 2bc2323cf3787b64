# SPDX-License-Identifier: GPL-3.0-or-later
"""Robust scale and weights."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array

NORMAL_MAD = 1.4826
"""Standard deviation of a normal law over its median absolute deviation."""

TUKEY_CUT = 4.685
"""Cut of the biweight, in standard deviations, for 95 % efficiency: Holland and Welsch, Comm. Statist. A6 (1977) 813."""


def scale_of(residuals: Array) -> float:
    """Standard deviation of the bulk of residuals (n,), about zero, from their median absolute value."""
    return NORMAL_MAD * float(np.median(np.abs(residuals)))


def biweight(residuals: Array, cut: float) -> Array:
    """Tukey's weights (n,), 1 at zero and 0 from cut on."""
    return np.asarray(np.maximum(1.0 - (residuals / cut) ** 2, 0.0) ** 2)


def biweight_slope(residuals: Array, cut: float) -> Array:
    """Derivative (n,) of residual times biweight, for the covariance of an M-estimate."""
    square = (residuals / cut) ** 2
    return np.asarray(np.where(square < 1.0, (1.0 - square) * (1.0 - 5.0 * square), 0.0))
