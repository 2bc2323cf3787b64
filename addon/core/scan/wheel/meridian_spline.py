# SPDX-License-Identifier: GPL-3.0-or-later
"""A tire's section as a smooth closed form: radius about a center inside the section, over the angle from the crown."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array


@dataclass(frozen=True, eq=False)
class MeridianSpline:
    """Cubic B-spline with even knots: distance from (rho = center_rho, along = 0) over the polar angle, 0 at the crown.

    start, step : first knot and knot distance, radians; coefficients (k,) float, mm
    """

    center_rho: float
    start: float
    step: float
    coefficients: Array

    @property
    def end(self) -> float:
        return self.start + self.step * (len(self.coefficients) - 3)

    def polar(self, rho: Array, along: Array) -> tuple[Array, Array]:
        """Distance from the section's center and polar angle, (n,) each, of points in the meridian half plane."""
        return np.hypot(rho - self.center_rho, along), np.arctan2(along, rho - self.center_rho)

    def basis(self, angle: Array) -> tuple[Array, Array]:
        """Values and angle derivatives (n, k) of the basis; angles beyond the ends are taken at the end.

        de Boor, A Practical Guide to Splines (1978), chapter X; written out for even knots.
        """
        place = np.clip((angle - self.start) / self.step, 0.0, len(self.coefficients) - 3 - 1e-9)
        first = place.astype(np.int64)
        u = place - first
        weights = np.stack([(1 - u) ** 3, 3 * u**3 - 6 * u**2 + 4, -3 * u**3 + 3 * u**2 + 3 * u + 1, u**3], axis=1) / 6.0
        slopes = np.stack([-3 * (1 - u) ** 2, 9 * u**2 - 12 * u, -9 * u**2 + 6 * u + 3, 3 * u**2], axis=1) / (6.0 * self.step)
        values, derivatives = np.zeros((2, len(place), len(self.coefficients)))
        rows = np.arange(len(place))[:, None]
        columns = first[:, None] + np.arange(4)
        values[rows, columns] = weights
        derivatives[rows, columns] = slopes
        return values, derivatives

    def radius(self, angle: Array) -> tuple[Array, Array]:
        """Distance of the curve from the section's center and its derivative by the angle, (n,) each."""
        place = np.clip((angle - self.start) / self.step, 0.0, len(self.coefficients) - 3 - 1e-9)
        first = place.astype(np.int64)
        u = place - first
        a, b, c, d = (self.coefficients[first + k] for k in range(4))
        value = (1 - u) ** 3 * a + (3 * u**3 - 6 * u**2 + 4) * b + (-3 * u**3 + 3 * u**2 + 3 * u + 1) * c + u**3 * d
        slope = -3 * (1 - u) ** 2 * a + (9 * u**2 - 12 * u) * b + (-9 * u**2 + 6 * u + 3) * c + 3 * u**2 * d
        return value / 6.0, slope / (6.0 * self.step)

    def curve(self, angle: Array) -> tuple[Array, Array]:
        """rho and along (n,) of points of the curve."""
        radius, _ = self.radius(angle)
        return self.center_rho + radius * np.cos(angle), radius * np.sin(angle)

    def distance(self, rho: Array, along: Array) -> tuple[Array, Array, Array]:
        """Signed distance (n,) outward, to first order, and the unit normal's parts (n,) along rho and along the axis."""
        radius, angle = self.polar(rho, along)
        value, slope = self.radius(angle)
        radius = np.maximum(radius, 1e-9)
        lean = slope / radius
        tilt = 1.0 / np.sqrt(1.0 + lean**2)
        cosine, sine = np.cos(angle), np.sin(angle)
        return (radius - value) * tilt, tilt * (cosine + lean * sine), tilt * (sine - lean * cosine)
