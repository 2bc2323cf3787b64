# SPDX-License-Identifier: GPL-3.0-or-later
"""Least-squares cylinder."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Array, as_points
from .directions import across, half_sphere, unit
from .fit_circle import linear_circle
from .levenberg_marquardt import Model, Solution, levenberg_marquardt


@dataclass(frozen=True, eq=False)
class CylinderFit:
    """Axis through point (3,), the points' middle along it, with unit direction (3,); radius and length, mm.

    residuals : (n,) outward. covariance : (5, 5) of the point's two coordinates along tangents, the direction's two
    tilts (radians) toward tangents, and the radius
    """

    point: Array
    direction: Array
    radius: float
    length: float
    tangents: Array
    residuals: Array
    covariance: Array

    @property
    def rms_mm(self) -> float:
        return float(np.sqrt(np.mean(self.residuals**2)))


def fit_cylinder(points: ArrayLike, direction: ArrayLike | None = None) -> CylinderFit:
    """Cylinder of least sum of squared radial distances.

    points : (n, 3) float, n >= 5; direction : (3,) a guess of the axis, else the best of 200 directions is the start
    Of several that fit equally well (six points may lie on more than one cylinder) the slimmest is returned.
    Raises ValueError if the points are fewer than five.
    Shakarji, J. Res. NIST 103 (1998) 633, section on cylinders; the direction moves in its own tangent plane.
    """
    points = as_points(points)
    if len(points) < 5:
        raise ValueError(f"{len(points)} points, at least 5 are needed for a cylinder")
    center = points.mean(axis=0)
    size = float(np.linalg.norm(points - center, axis=1).max())
    scaled = (points - center) / size
    if direction is None:
        starts = _best_starts(scaled, half_sphere(200), 6)
    else:
        starts = [unit(np.asarray(direction, dtype=np.float64))]
    fits = [_refined(scaled, start) for start in starts]
    least = min(solution.rms for _, solution in fits)
    equal = [fit for fit in fits if fit[1].rms <= 1.001 * least + 1e-9]
    axis, solution = min(equal, key=lambda fit: abs(float(fit[1].parameters[4])))
    return _in_mm(points, center, size, axis, solution)


def _best_starts(points: Array, directions: Array, count: int) -> list[Array]:
    """The directions of least cost that are at least 30 degrees apart, so that each valley of the cost gets its start."""
    costs = [_circle_cost(points @ across(direction).T) for direction in directions]
    starts: list[Array] = []
    for i in np.argsort(costs):
        if all(abs(directions[i] @ start) < np.cos(np.radians(30.0)) for start in starts):
            starts.append(directions[i])
    return starts[:count]


def _circle_cost(flat: Array) -> float:
    center, radius = linear_circle(flat)
    spread = np.linalg.norm(flat - center, axis=1) - radius
    return float(spread @ spread)


def _refined(points: Array, direction: Array) -> tuple[Array, Solution]:
    """LM about a direction, restarted so that the tilts stay small; returns the direction and the last solution."""
    center, radius = linear_circle(points @ across(direction).T)
    start = np.concatenate([center, np.zeros(2)])
    for _ in range(8):
        tangents = across(direction)
        solution = levenberg_marquardt(_model(points, direction, tangents), np.array([*start, radius]))
        tilt = solution.parameters[2:4]
        moved = solution.parameters[:2] @ tangents
        direction = unit(direction + tilt @ tangents)
        start = np.concatenate([across(direction) @ moved, np.zeros(2)])
        radius = float(solution.parameters[4])
        if np.abs(tilt).max() < 1e-9:
            break
    return direction, solution


def _model(points: Array, direction: Array, tangents: Array) -> Model:
    def model(parameters: Array) -> tuple[Array, Array]:
        raw = direction + parameters[2:4] @ tangents
        length = np.linalg.norm(raw)
        axis = raw / length
        away = points - parameters[:2] @ tangents
        along = away @ axis
        radial = away - along[:, None] * axis
        rho = np.linalg.norm(radial, axis=1)
        outward = radial / np.maximum(rho, 1e-300)[:, None]
        lean = (tangents - np.outer(tangents @ axis, axis)) / length
        jacobian = np.column_stack([-outward @ tangents.T, -along[:, None] * (outward @ lean.T), -np.ones(len(points))])
        return rho - parameters[4], jacobian

    return model


def _in_mm(points: Array, center: Array, size: float, axis: Array, solution: Solution) -> CylinderFit:
    tangents = across(axis)
    foot = center + size * (solution.parameters[:2] @ tangents)
    along = (points - foot) @ axis
    scale = np.array([size, size, 1.0, 1.0, size])
    middle = foot + 0.5 * (along.min() + along.max()) * axis
    shift = np.eye(5)
    shift[[0, 1], [2, 3]] = float((middle - foot) @ axis)
    covariance = shift @ (solution.covariance * np.outer(scale, scale)) @ shift.T
    length = float(np.ptp(along))
    return CylinderFit(
        middle, axis, float(size * abs(solution.parameters[4])), length, tangents, size * solution.residuals, covariance
    )
