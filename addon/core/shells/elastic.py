# SPDX-License-Identifier: GPL-3.0-or-later
"""A material that is the same in all directions, as a shell takes it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array


@dataclass(frozen=True)
class Elastic:
    """modulus_mpa : Young's modulus; poisson : its ratio, 0 to under 0.5; density_g_cm3 : of the finished material"""

    modulus_mpa: float
    poisson: float
    density_g_cm3: float

    def __post_init__(self) -> None:
        if not (self.modulus_mpa > 0.0 and self.density_g_cm3 > 0.0 and 0.0 <= self.poisson < 0.5):
            raise ValueError(
                f"modulus {self.modulus_mpa:g} MPa, density {self.density_g_cm3:g} g/cm3, Poisson's ratio {self.poisson:g}; allowed "
                "are a modulus and a density over 0, and a ratio of 0 to under 0.5"
            )

    @property
    def tonne_per_mm3(self) -> float:
        """Density in the unit that goes with N, mm and s."""
        return 1e-9 * self.density_g_cm3

    @property
    def plane_stress(self) -> Array:
        """(3, 3) stress xx, yy, xy in MPa for strain xx, yy and engineering shear xy."""
        nu = self.poisson
        return self.modulus_mpa / (1.0 - nu**2) * np.array([[1.0, nu, 0.0], [nu, 1.0, 0.0], [0.0, 0.0, 0.5 * (1.0 - nu)]])
