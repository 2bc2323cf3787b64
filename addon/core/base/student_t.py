# SPDX-License-Identifier: GPL-3.0-or-later
"""Student's t distribution for whole degrees of freedom."""

from __future__ import annotations

from math import atan, cos, inf, pi, sin, sqrt


def student_t_tail(t: float, freedom: int) -> float:
    """Probability that Student's t exceeds t.

    t : any float; freedom : degrees of freedom, a whole number from 1 up, else ValueError
    Closed form by a finite sum: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4.
    """
    if freedom < 1:
        raise ValueError(f"freedom: {freedom}, expected 1 or more")
    angle = atan(abs(t) / sqrt(freedom))
    inside = _odd(angle, freedom) if freedom % 2 else _even(angle, freedom)
    tail = 0.5 * (1.0 - inside)
    return tail if t >= 0.0 else 1.0 - tail


def student_t_quantile(tail: float, freedom: int) -> float:
    """The t that is exceeded with probability tail, 0 < tail <= 0.5, else ValueError; by bisection of student_t_tail."""
    if not 0.0 < tail <= 0.5:
        raise ValueError(f"tail: {tail}, expected more than 0 and at most 0.5")
    low, high = 0.0, 1.0
    while student_t_tail(high, freedom) > tail and high < inf:
        high *= 2.0
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (middle, high) if student_t_tail(middle, freedom) > tail else (low, middle)
    return high


def _odd(angle: float, freedom: int) -> float:
    term, total = cos(angle), 0.0
    for k in range(1, freedom - 1, 2):
        total += term
        term *= (k + 1) / (k + 2) * cos(angle) ** 2
    return 2.0 / pi * (angle + sin(angle) * total)


def _even(angle: float, freedom: int) -> float:
    term, total = 1.0, 0.0
    for k in range(0, freedom - 1, 2):
        total += term
        term *= (k + 1) / (k + 2) * cos(angle) ** 2
    return sin(angle) * total
