# SPDX-License-Identifier: GPL-3.0-or-later
"""Damped Gauss-Newton steps for small least-squares problems."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array

Model = Callable[[Array], tuple[Array, Array]]
"""Takes parameters (p,) and returns residuals (n,) and their Jacobian (n, p)."""


@dataclass(frozen=True, eq=False)
class Solution:
    """Parameters (p,) at the minimum, residuals (n,) and Jacobian (n, p) there, covariance (p, p)."""

    parameters: Array
    residuals: Array
    jacobian: Array
    covariance: Array

    @property
    def rms(self) -> float:
        return float(np.sqrt(np.mean(self.residuals**2)))


def levenberg_marquardt(model: Model, start: Array, *, steps: int = 200) -> Solution:
    """Least sum of squared residuals, from a start near it.

    start : (p,) float
    Covariance is s^2 (J^T J)^-1 with s^2 the residual variance at n - p degrees of freedom; with n = p it is zero.
    Raises ValueError if there are fewer residuals than parameters.
    Marquardt, J. Soc. Indust. Appl. Math. 11 (1963) 431; his scaling of the damping by the diagonal.
    """
    parameters = np.array(start, dtype=np.float64)
    residuals, jacobian = model(parameters)
    if len(residuals) < len(parameters):
        raise ValueError(f"{len(residuals)} points, at least {len(parameters)} are needed")
    cost, damping = float(residuals @ residuals), 1e-3
    for _ in range(steps):
        normal, gradient = jacobian.T @ jacobian, jacobian.T @ residuals
        scale = np.diag(normal) + 1e-30 * (1.0 + np.trace(normal))
        step = -np.linalg.lstsq(normal + damping * np.diag(scale), gradient, rcond=None)[0]
        trial_residuals, trial_jacobian = model(parameters + step)
        trial_cost = float(trial_residuals @ trial_residuals)
        if trial_cost <= cost:
            small = bool(np.all(np.abs(step) <= 1e-13 * (1.0 + np.abs(parameters))))
            parameters, residuals, jacobian, cost = parameters + step, trial_residuals, trial_jacobian, trial_cost
            damping = max(damping * 0.1, 1e-15)
            if small:
                break
        elif damping > 1e12:
            break
        else:
            damping *= 10.0
    return Solution(parameters, residuals, jacobian, covariance_of(residuals, jacobian))


def covariance_of(residuals: Array, jacobian: Array) -> Array:
    """s^2 (J^T J)^-1. residuals : (n,), jacobian : (n, p); returns (p, p)."""
    count, size = jacobian.shape
    variance = float(residuals @ residuals) / (count - size) if count > size else 0.0
    return variance * np.linalg.pinv(jacobian.T @ jacobian)
