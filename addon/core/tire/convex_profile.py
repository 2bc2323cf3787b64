# SPDX-License-Identifier: GPL-3.0-or-later
"""The convex meridian of a body of revolution that is filled to the axle."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array


def convex_profile(profile: ArrayLike) -> Array:
    """Upper half of the convex hull of a profile and its mirror image, from the crown outward.

    profile : (m, 2) float, mm, rows (offset x >= 0 from the center plane, radius rho >= 0 about the axle), any order
    Returns (k, 2) float, mm: x from 0 up, rho never rising, no three points on a line. The last point is the outermost one;
    from it the body goes straight down to the axle.
    Raises ValueError if profile is not (m, 2) with m >= 1, holds a value that is negative or not finite, or has no width or
    no radius.
    Upper hull by the monotone chain: Andrew, Information Processing Letters 9 (1979) 216.
    """
    points = np.array(profile, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) == 0:
        raise ValueError(f"profile: shape {points.shape}, expected (m, 2) with m >= 1")
    if not (np.isfinite(points).all() and (points >= 0.0).all()):
        raise ValueError("profile: holds a value that is negative or not finite")
    if points.max(axis=0).min() <= 0.0:
        raise ValueError("profile: all points lie on the axle or in the center plane, expected a width and a radius")
    crown = points[:, 1].max()
    # The mirror image makes the hull level from the center plane to the outermost of the highest points.
    ordered = points[np.lexsort((points[:, 1], points[:, 0]))]
    chain: list[tuple[float, float]] = [(0.0, float(crown))]
    for x, rho in ordered[ordered[:, 0] > 0.0].tolist():
        while len(chain) > 1 and not _turns_down(chain[-2], chain[-1], (x, rho)):
            chain.pop()
        chain.append((x, rho))
    return np.array(chain)


def _turns_down(first: tuple[float, float], second: tuple[float, float], third: tuple[float, float]) -> bool:
    along_x, along_rho = second[0] - first[0], second[1] - first[1]
    next_x, next_rho = third[0] - second[0], third[1] - second[1]
    # Below this sine of the turn the three points are one line, to rounding.
    least_turn = 1e-12 * np.hypot(along_x, along_rho) * np.hypot(next_x, next_rho)
    return bool(along_x * next_rho - along_rho * next_x < -least_turn)
