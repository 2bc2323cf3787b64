# SPDX-License-Identifier: GPL-3.0-or-later
"""The laminate that a job sheet asks for."""

from __future__ import annotations

from ..job.job_sheet import Job, Laminate
from ..plies.schedule import Mix, laminate_thickness, usual_hardener
from ..tables.laminates import GEL_COAT_MM


def laminate_mix(laminate: Laminate) -> Mix:
    """What the plies are wetted with, with the defaults that hang on other keys."""
    usual_coat = GEL_COAT_MM if laminate.route == "mold" else 0.0
    hardener = laminate.hardener
    return Mix(
        resin=laminate.resin,
        mat_ratio=laminate.mat_ratio,
        cloth_ratio=laminate.cloth_ratio,
        hardener=usual_hardener(laminate.resin, laminate.temperature) if hardener is None else hardener,
        gel_coat=usual_coat if laminate.gel_coat is None else laminate.gel_coat,
        waste=laminate.waste / 100.0,
    )


def laminate_mm(job: Job) -> float:
    """Thickness of the laminated part, gel coat included, mm; 0 where none is planned."""
    if job.laminate is None:
        return 0.0
    return laminate_thickness(job.laminate.plies, laminate_mix(job.laminate))
