# SPDX-License-Identifier: GPL-3.0-or-later
"""The figures of a finished variant."""

from __future__ import annotations

from ..core.tables.materials import DENSITY
from ..core.variants.figures import VariantFigures
from .job_result import JobResult
from .job_stiffness import job_stiffness_steps
from .steps import Steps


def variant_figures_steps(name: str, result: JobResult) -> Steps[VariantFigures]:
    """What a variant of a name comes to. Raises ShapeError with a sentence where its stiffness cannot be computed."""
    stiffness = yield from job_stiffness_steps(result)
    options = [plan.option for plan in result.plans]
    density = DENSITY[result.job.printer.material][0]
    return VariantFigures(
        name=name,
        to_spare_mm=result.tire.min_mm - result.limits[0].required_mm,
        mass_g=sum(part.mesh.volume for part in result.finished.parts) * density / 1000.0,
        pieces=len(result.finished.parts),
        all_fit=all(option.fit.fits for option in options),
        hours=sum(option.hours for option in options),
        flex_mm=stiffness.final.flex_mm,
        above=result.coverage.above,
        behind=result.coverage.behind,
    )
