# SPDX-License-Identifier: GPL-3.0-or-later
"""What must be known before resin is poured over a print or into a mold."""

from __future__ import annotations

from ..job.job_sheet import Job, Laminate
from ..tables.exposure_limits import EXPOSURE_LIMITS, PROTECTION, Limit
from ..tables.laminates import CATALYST_BY_TEMPERATURE, RESINS, WORKSHOP_C
from ..tables.materials import HEAT_LIMIT

_ATTACKED = ("ABS", "ASA")
"""Printing materials that styrene dissolves [M]."""


def laminate_cautions(job: Job) -> tuple[str, ...]:
    """Sentences for the report and the build sheet; none without a laminate."""
    laminate = job.laminate
    if laminate is None:
        return ()
    published = [
        f"{limit.substance} {limit.limit} ({limit.source})" for limit in air_limits(laminate) if limit.basis == "published"
    ]
    return (
        (
            "Resin and fiber: work ventilated, with gloves, closed goggles and a respirator for organic vapor and particles. Limits in "
            f"the air: {'; '.join(published)}."
        ),
        PROTECTION[2],
        *_workshop(laminate),
        *_print_under_resin(job, laminate),
        *_hardener(laminate),
    )


def air_limits(laminate: Laminate) -> tuple[Limit, ...]:
    """Exposure limits of what a laminate brings into the air."""
    styrene = (*EXPOSURE_LIMITS["styrene"], *EXPOSURE_LIMITS["MEKP"]) if RESINS[laminate.resin].styrene else ()
    return (*styrene, *EXPOSURE_LIMITS["glass"])


def _workshop(laminate: Laminate) -> list[str]:
    low, high = WORKSHOP_C
    coldest = CATALYST_BY_TEMPERATURE[-1][0]
    said = []
    if laminate.temperature < low or laminate.temperature > high + 5.0:
        said.append(
            f"A workshop of {laminate.temperature:g} C is outside of the usual {low:g} to {high:g} C (ecfibreglasssupplies.co.uk): "
            + (
                "resin may never get hard; warm it."
                if laminate.temperature < low
                else "the pot gets hard sooner; mix less at a time."
            )
        )
    if RESINS[laminate.resin].styrene and laminate.temperature < coldest:
        said.append(f"Under {coldest:g} C no allowed amount of catalyst cures it: warm the workshop first.")
    return said


def _print_under_resin(job: Job, laminate: Laminate) -> list[str]:
    material = job.printer.material
    limit, basis = HEAT_LIMIT[material]
    said = [
        (
            f"The print of {material} holds its shape up to about {limit:.0f} C ({basis}), and curing resin gets hotter the thicker it is "
            "laid (an unfilled casting can pass 150 C): lay two plies at most at a time, let each get hard and cold, leave no puddles."
        )
    ]
    if RESINS[laminate.resin].styrene and material in _ATTACKED:
        said.append(
            f"Styrene dissolves {material} (from memory): seal the print with two coats of epoxy or a barrier primer before wax and "
            "release film, and try it on a scrap first."
        )
    return said


def _hardener(laminate: Laminate) -> list[str]:
    resin = RESINS[laminate.resin]
    if resin.styrene or laminate.hardener is not None:
        return []
    return [
        (
            f"The {resin.hardener[1]:g} percent of hardener are from memory: state what the can says as laminate.hardener, by mass; epoxy "
            "forgives no other amount."
        )
    ]
