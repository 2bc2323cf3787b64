# SPDX-License-Identifier: GPL-3.0-or-later
"""A smooth curve through typed values."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array


def smooth_curve(knots: Array, values: Array, at: Array) -> tuple[Array, Array]:
    """Values (n,) and slopes (n,) at places (n,) of the curve through values (k,) at increasing knots (k,); level past the ends.

    Monotone between knots, so that it never swings past what was typed: piecewise cubics with the slopes of Steffen, A simple
    method for monotonic interpolation in one dimension (1990), with level ends.
    """
    width = np.diff(knots)
    secant = np.diff(values) / width
    slope = np.zeros(len(knots))
    parabola = (secant[:-1] * width[1:] + secant[1:] * width[:-1]) / (width[:-1] + width[1:])
    least = np.minimum(np.minimum(np.abs(secant[:-1]), np.abs(secant[1:])), 0.5 * np.abs(parabola))
    slope[1:-1] = (np.sign(secant[:-1]) + np.sign(secant[1:])) * least
    place = np.clip(at, knots[0], knots[-1])
    i = np.clip(np.searchsorted(knots, place, side="right") - 1, 0, len(width) - 1)
    t = place - knots[i]
    second = (3.0 * secant[i] - 2.0 * slope[i] - slope[i + 1]) / width[i]
    third = (slope[i] + slope[i + 1] - 2.0 * secant[i]) / width[i] ** 2
    value = values[i] + t * (slope[i] + t * (second + t * third))
    rise = slope[i] + t * (2.0 * second + 3.0 * t * third)
    return value, np.where(place == at, rise, 0.0)
