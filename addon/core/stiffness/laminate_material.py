# SPDX-License-Identifier: GPL-3.0-or-later
"""What a laminate is, as its stiffness takes it: one material with the mean of its plies."""

from __future__ import annotations

from dataclasses import dataclass

from ..job.job_sheet import Laminate
from ..plies.ply_fractions import fiber_mass_fraction, laminate_density
from ..plies.schedule import laminate_schedule
from ..shells.elastic import Elastic
from ..tables.laminates import GEL_COAT_DENSITY, PLIES, RESINS
from ..tables.strength.stiffness_rules import (
    POISSON_LAMINATE,
    RESIN_MODULUS_MPA,
    cloth_modulus_mpa,
    cloth_strength_mpa,
    mat_modulus_mpa,
    mat_strength_mpa,
)
from ..wall.job_laminate import laminate_mix


@dataclass(frozen=True)
class LaminateMaterial:
    """elastic : of the whole thickness, gel coat included; strength_mpa : of its weakest ply"""

    elastic: Elastic
    strength_mpa: float


def laminate_material(laminate: Laminate) -> LaminateMaterial:
    """Modulus and density of a laminate, by the thickness of gel coat and plies; the order of the plies is left out.

    Cloth is taken to lie with its threads along and across the fender.
    """
    mix, resin = laminate_mix(laminate), RESINS[laminate.resin]
    layers = laminate_schedule(laminate.plies, mix, [0.0] * len(laminate.plies), 0.0).layers
    sheets = [(mix.gel_coat, RESIN_MODULUS_MPA, GEL_COAT_DENSITY)]
    strengths = []
    for layer in layers:
        ply = PLIES[layer.name]
        share = fiber_mass_fraction(mix.ratio(ply))
        is_mat = ply.kind == "mat"
        modulus = mat_modulus_mpa(share) if is_mat else cloth_modulus_mpa(ply.fiber, layer.volume)
        sheets.append((layer.thickness, modulus, laminate_density(share, ply.density, resin.density)))
        strengths.append(mat_strength_mpa(share) if is_mat else cloth_strength_mpa(share))
    total = sum(thickness for thickness, _, _ in sheets)
    modulus, density = (sum(sheet[0] * sheet[i] for sheet in sheets) / total for i in (1, 2))
    return LaminateMaterial(Elastic(modulus, POISSON_LAMINATE, density), min(strengths))
