# SPDX-License-Identifier: GPL-3.0-or-later
"""Least-squares torus."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Array, as_points
from .directions import across, unit
from .fit_circle import linear_circle
from .levenberg_marquardt import Model, Solution, levenberg_marquardt


@dataclass(frozen=True, eq=False)
class TorusFit:
    """Center (3,), unit axis direction (3,), radius of the ring (axis to tube center) and of the tube, mm.

    residuals : (n,) outward from the tube. covariance : (7, 7) of the center along tangents[0], tangents[1] and the axis,
    the two tilts (radians) toward tangents, the ring radius and the tube radius
    """

    center: Array
    direction: Array
    ring_radius: float
    tube_radius: float
    tangents: Array
    residuals: Array
    covariance: Array

    @property
    def rms_mm(self) -> float:
        return float(np.sqrt(np.mean(self.residuals**2)))


def fit_torus(points: ArrayLike, direction: ArrayLike | None = None) -> TorusFit:
    """Torus of least sum of squared distances.

    points : (n, 3) float, n >= 7; direction : (3,) a guess of the axis, else each principal axis of the points is tried
    Raises ValueError if the points are fewer than seven.
    Distance sqrt((rho - ring)^2 + along^2) - tube, by Levenberg-Marquardt: Shakarji, J. Res. NIST 103 (1998) 633. Of a
    short arc the covariance tells how little it determines.
    """
    points = as_points(points)
    if len(points) < 7:
        raise ValueError(f"{len(points)} points, at least 7 are needed for a torus")
    middle = points.mean(axis=0)
    size = float(np.linalg.norm(points - middle, axis=1).max())
    scaled = (points - middle) / size
    if direction is None:
        starts = list(np.linalg.eigh(scaled.T @ scaled)[1].T)
    else:
        starts = [unit(np.asarray(direction, dtype=np.float64))]
    axis, solution = min((_refined(scaled, start) for start in starts), key=lambda fit: fit[1].rms)
    tangents = across(axis)
    scale = np.array([size, size, size, 1.0, 1.0, size, size])
    center = middle + size * (solution.parameters[:3] @ np.vstack([tangents, axis]))
    return TorusFit(
        center,
        axis,
        float(size * solution.parameters[5]),
        float(size * abs(solution.parameters[6])),
        tangents,
        size * solution.residuals,
        solution.covariance * np.outer(scale, scale),
    )


def _start(points: Array, direction: Array) -> Array:
    flat = points @ across(direction).T
    center, radius = linear_circle(flat)
    along = points @ direction
    tube = np.hypot(np.linalg.norm(flat - center, axis=1) - radius, along - along.mean()).mean()
    return np.array([*center, along.mean(), 0.0, 0.0, radius, tube])


def _refined(points: Array, direction: Array) -> tuple[Array, Solution]:
    """LM about a direction, restarted so that the tilts stay small; returns the direction and the last solution."""
    start = _start(points, direction)
    for _ in range(8):
        frame = np.vstack([across(direction), direction])
        solution = levenberg_marquardt(_model(points, frame), start)
        tilt, center = solution.parameters[3:5], solution.parameters[:3] @ frame
        direction = unit(direction + tilt @ frame[:2])
        start = np.concatenate([np.vstack([across(direction), direction]) @ center, np.zeros(2), solution.parameters[5:]])
        if np.abs(tilt).max() < 1e-9:
            break
    return direction, solution


def _model(points: Array, frame: Array) -> Model:
    """Residuals about an axis near frame[2]; frame : (3, 3) rows, two tangents and the direction."""

    def model(parameters: Array) -> tuple[Array, Array]:
        raw = frame[2] + parameters[3:5] @ frame[:2]
        length = np.linalg.norm(raw)
        axis = raw / length
        away = points - parameters[:3] @ frame
        along = away @ axis
        radial = away - along[:, None] * axis
        rho = np.maximum(np.linalg.norm(radial, axis=1), 1e-300)
        across_tube = rho - parameters[5]
        tube = np.maximum(np.hypot(across_tube, along), 1e-300)
        out, up = across_tube / tube, along / tube
        normal = (out / rho)[:, None] * radial + up[:, None] * axis
        lean = (frame[:2] - np.outer(frame[:2] @ axis, axis)) / length
        turn = up[:, None] * (away @ lean.T) - (out / rho * along)[:, None] * (radial @ lean.T)
        return tube - parameters[6], np.column_stack([-normal @ frame.T, turn, -out, -np.ones(len(points))])

    return model
