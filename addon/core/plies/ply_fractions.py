# SPDX-License-Identifier: GPL-3.0-or-later
"""Thickness and fiber fractions of a ply by the rule of mixtures, without voids."""

from __future__ import annotations


def fiber_mass_fraction(ratio: float) -> float:
    """Mass of fiber over that of the laminate. ratio : resin over fiber by mass, > 0; ValueError otherwise"""
    if not ratio > 0.0:
        raise ValueError(f"ratio: {ratio:g}, expected a number over 0")
    return 1.0 / (1.0 + ratio)


def fiber_volume_fraction(mass_fraction: float, fiber: float, resin: float) -> float:
    """Volume of fiber over that of the laminate: (p / f) / (p / f + (1 - p) / r).

    mass_fraction : p, 0 to 1; fiber, resin : densities, g/cm3
    """
    fiber_volume = mass_fraction / fiber
    return fiber_volume / (fiber_volume + (1.0 - mass_fraction) / resin)


def ply_thickness(areal: float, mass_fraction: float, fiber: float, resin: float) -> float:
    """Thickness of a ply, mm: W / 1000 (1 / f + (1 - p) / (p r)), as on epoxyworks.com (calculating laminate thickness) [S].

    areal : W, dry fiber, g/m2; mass_fraction : p, over 0 to 1; fiber, resin : densities, g/cm3
    """
    return areal / 1000.0 * (1.0 / fiber + (1.0 - mass_fraction) / (mass_fraction * resin))


def laminate_density(mass_fraction: float, fiber: float, resin: float) -> float:
    """g/cm3. mass_fraction : 0 to 1; fiber, resin : densities, g/cm3"""
    return 1.0 / (mass_fraction / fiber + (1.0 - mass_fraction) / resin)
