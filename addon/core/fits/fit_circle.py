# SPDX-License-Identifier: GPL-3.0-or-later
"""Least-squares circle in the plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array
from .levenberg_marquardt import levenberg_marquardt


@dataclass(frozen=True, eq=False)
class CircleFit:
    """Center (2,) and radius, mm; residuals (n,) outward; covariance (3, 3) of center x, y and radius."""

    center: Array
    radius: float
    residuals: Array
    covariance: Array

    @property
    def rms_mm(self) -> float:
        return float(np.sqrt(np.mean(self.residuals**2)))


def fit_circle(points: ArrayLike) -> CircleFit:
    """Circle of least sum of squared radial distances (the geometric fit).

    points : (n, 2) float, n >= 3
    Raises ValueError if the points are fewer than three, not finite, or lie on a line.
    Gander, Golub, Strebel, BIT 34 (1994) 558, section 4.
    """
    points = _as_plane_points(points)
    spread = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)
    if spread[1] <= 1e-9 * spread[0]:
        raise ValueError("the points lie on a line, which leaves the circle open")
    center, radius = linear_circle(points)

    def model(parameters: Array) -> tuple[Array, Array]:
        away = points - parameters[:2]
        distance = np.linalg.norm(away, axis=1)
        direction = away / np.maximum(distance, 1e-300)[:, None]
        return distance - parameters[2], np.column_stack([-direction, -np.ones(len(points))])

    solution = levenberg_marquardt(model, np.array([*center, radius]))
    return CircleFit(solution.parameters[:2], float(solution.parameters[2]), solution.residuals, solution.covariance)


def linear_circle(points: ArrayLike) -> tuple[Array, float]:
    """Center (2,) and radius by linear least squares: biased on short arcs, but never far off; a start for the other fits.

    points : (n, 2) float, n >= 3. Raises ValueError as fit_circle does, except for points on a line.
    Coope, J. Optim. Theory Appl. 76 (1993) 381; the same circle as Kasa's.
    """
    points = _as_plane_points(points)
    middle = points.mean(axis=0)
    centered = points - middle
    design = np.column_stack([2.0 * centered, np.ones(len(centered))])
    solved = np.linalg.lstsq(design, np.sum(centered**2, axis=1), rcond=None)[0]
    return middle + solved[:2], float(np.sqrt(max(float(solved[2] + solved[:2] @ solved[:2]), 0.0)))


def _as_plane_points(points: ArrayLike) -> Array:
    values = np.asarray(points, dtype=np.float64)
    if values.ndim != 2 or values.shape[1] != 2 or not np.isfinite(values).all():
        raise ValueError(f"points: shape {values.shape}, expected (n, 2) of finite values")
    if len(values) < 3:
        raise ValueError(f"{len(values)} points, at least 3 are needed for a circle")
    return values
