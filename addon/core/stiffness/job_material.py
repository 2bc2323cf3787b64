# SPDX-License-Identifier: GPL-3.0-or-later
"""What a fender of a job is made of, as its stiffness takes it, and how fast it meets the wind."""

from __future__ import annotations

from ..job.job_sheet import Job
from ..job.tire_code import parse_tire_code
from ..shells.elastic import Elastic
from ..tables.materials import DENSITY, LAYER_STRENGTH, MODULUS_MPA
from ..tables.strength.stiffness_rules import LAYER_MODULUS, POISSON_PLASTIC, STRENGTH_MPA


def print_material(job: Job) -> Elastic:
    """The printed plastic. Its modulus is that across the layers in all directions, the least, whichever way it is printed."""
    name = job.printer.material
    return Elastic(MODULUS_MPA[name][0] * LAYER_MODULUS[name][0], POISSON_PLASTIC, DENSITY[name][0])


def strength_across_layers(job: Job) -> float:
    """Tensile strength of the print across its layers, MPa."""
    name = job.printer.material
    return STRENGTH_MPA[name][0] * LAYER_STRENGTH[name][0]


def top_speed_kmh(job: Job) -> float | None:
    """As stated, else that of the tire's speed symbol; None where neither is known."""
    return job.wheel.top_speed_kmh or parse_tire_code(job.tire.size).speed_kmh
