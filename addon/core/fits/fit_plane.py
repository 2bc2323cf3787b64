# SPDX-License-Identifier: GPL-3.0-or-later
"""Least-squares plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, as_points
from .directions import across


@dataclass(frozen=True, eq=False)
class PlaneFit:
    """A plane through point (3,) with unit normal (3,), and the points' signed distances (n,) from it, mm.

    covariance : (3, 3) of the offset along the normal (mm) and the tilts (radians) of the normal toward tangents[0] and [1]
    tangents : (2, 3) unit vectors in the plane
    """

    point: Array
    normal: Array
    tangents: Array
    distances: Array
    covariance: Array

    @property
    def rms_mm(self) -> float:
        return float(np.sqrt(np.mean(self.distances**2)))


def fit_plane(points: ArrayLike, weights: ArrayLike | None = None) -> PlaneFit:
    """Plane of least sum of (weighted) squared distances; the normal has a positive last nonzero component.

    points : (n, 3) float, n >= 3; weights : (n,) float >= 0
    Raises ValueError if the points are fewer than three or lie on a line.
    Eigenvector of the centered second moments: Shakarji, J. Res. NIST 103 (1998) 633.
    """
    points = as_points(points)
    weight = np.ones(len(points)) if weights is None else np.asarray(weights, dtype=np.float64)
    if np.count_nonzero(weight) < 3:
        raise ValueError(f"{np.count_nonzero(weight)} points, at least 3 are needed for a plane")
    center = weight @ points / weight.sum()
    centered = points - center
    values, vectors = np.linalg.eigh((centered * weight[:, None]).T @ centered)
    if values[1] <= 1e-12 * values[2]:
        raise ValueError("the points lie on a line, which leaves the plane open")
    normal = vectors[:, 0] * _sign(vectors[:, 0])
    tangents = across(normal)
    distances = centered @ normal
    in_plane = centered @ tangents.T
    design = np.column_stack([np.ones(len(points)), -in_plane])
    freedom = max(np.count_nonzero(weight) - 3, 1)
    variance = float(weight @ distances**2) / float(weight.max()) / freedom
    covariance = variance * np.linalg.inv((design * (weight / weight.max())[:, None]).T @ design)
    return PlaneFit(center, normal, tangents, distances, covariance)


def _sign(normal: Array) -> float:
    large = np.flatnonzero(np.abs(normal) > 1e-9)
    return float(np.sign(normal[large[-1]]))
