# SPDX-License-Identifier: GPL-3.0-or-later
"""The laminate schedule: plies with their thickness and mass, and what is to be mixed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..tables.laminates import CATALYST_BY_TEMPERATURE, GEL_COAT_CATALYST, GEL_COAT_DENSITY, PLIES, RESINS, Ply
from .ply_fractions import fiber_mass_fraction, fiber_volume_fraction, ply_thickness

_MM2_PER_M2 = 1e6


@dataclass(frozen=True)
class Mix:
    """What the plies are wetted with.

    resin : a key of RESINS; mat_ratio, cloth_ratio : resin over fiber by mass; hardener : percent of the resin's mass
    gel_coat : mm, 0 for none; waste : share that is prepared on top
    """

    resin: str
    mat_ratio: float
    cloth_ratio: float
    hardener: float
    gel_coat: float
    waste: float

    def ratio(self, ply: Ply) -> float:
        """Resin over fiber by mass of a ply."""
        return self.mat_ratio if ply.kind == "mat" else self.cloth_ratio


@dataclass(frozen=True)
class Layer:
    """One ply of the part, without waste.

    area : mm2; fiber, resin : g, resin with the hardener that becomes part of it; thickness : mm; volume : share of fiber
    """

    name: str
    area: float
    fiber: float
    resin: float
    thickness: float
    volume: float


@dataclass(frozen=True)
class Schedule:
    """A laminate and what it takes.

    layers : from the gel coat on; thickness : mm, gel coat included; mass : g, of the part, without waste
    resin, hardener, gel_coat, gel_coat_catalyst : g, to be mixed, waste included; waste : its share
    """

    layers: tuple[Layer, ...]
    gel_coat_mm: float
    mass: float
    resin: float
    hardener: float
    gel_coat: float
    gel_coat_catalyst: float
    waste: float

    @property
    def thickness(self) -> float:
        """mm, with the gel coat."""
        return self.gel_coat_mm + sum(layer.thickness for layer in self.layers)

    @property
    def fiber(self) -> float:
        """g, to be cut, waste included."""
        return (1.0 + self.waste) * sum(layer.fiber for layer in self.layers)


def laminate_schedule(plies: Sequence[str], mix: Mix, areas: Sequence[float], face: float) -> Schedule:
    """The schedule of a laminate.

    plies : names of PLIES, from the gel coat on, one or more; areas : mm2 of each; face : mm2 of the face with the gel coat
    Raises KeyError for an unknown ply or resin, ValueError if the areas are not as many as the plies.
    Catalyst comes on top of the resin and is not weighed as part of it; the hardener of epoxy is part of what cures.
    """
    resin = RESINS[mix.resin]
    layers = tuple(_layer(name, mix, area) for name, area in zip(plies, areas, strict=True))
    cured, more = sum(layer.resin for layer in layers), 1.0 + mix.waste
    share = 0.01 * mix.hardener
    poured = cured * more if resin.styrene else cured * more / (1.0 + share)
    gel = face * mix.gel_coat * GEL_COAT_DENSITY / 1000.0
    return Schedule(
        layers=layers,
        gel_coat_mm=mix.gel_coat,
        mass=gel + cured + sum(layer.fiber for layer in layers),
        resin=poured,
        hardener=poured * share,
        gel_coat=gel * more,
        gel_coat_catalyst=0.01 * GEL_COAT_CATALYST * gel * more if resin.styrene else gel * more * share / (1.0 + share),
        waste=mix.waste,
    )


def laminate_thickness(plies: Sequence[str], mix: Mix) -> float:
    """Thickness of a laminate with its gel coat, mm. plies : names of PLIES"""
    return laminate_schedule(plies, mix, [0.0] * len(plies), 0.0).thickness


def usual_hardener(resin: str, temperature: float) -> float:
    """Percent of hardener: of catalyst by the temperature of the workshop, deg C, never over what is allowed; of epoxy the usual one."""
    least, usual, most = RESINS[resin].hardener
    if not RESINS[resin].styrene:
        return usual
    step = next((percent for warm, percent in CATALYST_BY_TEMPERATURE if temperature >= warm), most)
    return min(max(step, least), most)


def _layer(name: str, mix: Mix, area: float) -> Layer:
    ply, resin = PLIES[name], RESINS[mix.resin]
    fraction = fiber_mass_fraction(mix.ratio(ply))
    fiber = area / _MM2_PER_M2 * ply.areal
    return Layer(
        name,
        area,
        fiber,
        fiber * mix.ratio(ply),
        ply_thickness(ply.areal, fraction, ply.density, resin.density),
        fiber_volume_fraction(fraction, ply.density, resin.density),
    )
