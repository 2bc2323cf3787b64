# SPDX-License-Identifier: GPL-3.0-or-later
"""Series of hand readings held against each other and against the sheet, and their doubt as the gap feels it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from ..clearance.budget import DEFAULT_SIGMA_MM
from ..tire.job_tire import job_tire_size
from .cross_checks import CrossCheck, HandReadings, SizeLimits, Taken, cross_checks
from .feedback_geometry import QUANTITIES, GapModel, candidate_places, sheet_values
from .provisional_job import ProvisionalJob
from .reading_kinds import READING_KINDS
from .readings import CombinedReading, combine_readings, sheet_sigma

_STEP_DEG = 2.0
_PROFILE_SIGMA = 0.5
"""Of the largest offset of a profile, mm; our judgment."""


def combined_series(series: Mapping[str, list[float]]) -> dict[str, CombinedReading]:
    """Mean and doubt of each series that holds a reading, by the name of its kind. Raises JobError as combine_readings."""
    combined = {}
    for name, kind in READING_KINDS.items():
        if series.get(name):
            combined[name] = combine_readings(kind.label, series[name], sigma=kind.sigma, division=kind.division, unit=kind.unit)
    return combined


def series_checks(
    combined: Mapping[str, CombinedReading], provisional: ProvisionalJob, second_at: float
) -> tuple[CrossCheck, ...]:
    """Cross checks of the series; mount height, ahead and tilt that were not read here count as the sheet has them.

    second_at : how far ahead of the pattern center "height_ahead" was read, mm
    Raises JobError as cross_checks.
    """
    taken = {name: Taken(one.mean, one.sigma) for name, one in combined.items()}
    mount, tire = provisional.job.mount, provisional.job.tire
    if provisional.mount_stated:
        for name in ("height", "ahead", "tilt"):
            taken.setdefault(name, Taken(getattr(mount, name), READING_KINDS[name].sigma))
    half_width = None if tire.profile is None else Taken(max(offset for offset, _ in tire.profile), _PROFILE_SIGMA)
    second = taken.get("height_ahead")
    return cross_checks(
        HandReadings(
            radius=taken.get("radius"),
            circumference=taken.get("circumference"),
            ground_radius=taken.get("ground_radius"),
            width=taken.get("width"),
            profile_half_width=half_width,
            height=taken.get("height"),
            ahead=taken.get("ahead"),
            tilt=taken.get("tilt"),
            axle_to_face=taken.get("axle_to_face"),
            height_ahead=None if second is None else (second_at, second),
            size=_size_limits(provisional),
        )
    )


def _size_limits(provisional: ProvisionalJob) -> SizeLimits | None:
    if not provisional.tire_stated:
        return None
    size = job_tire_size(provisional.job)
    return SizeLimits(
        size.least_new_radius_mm,
        size.largest_new_radius_mm,
        size.section_width_mm,
        size.largest_new_width_mm,
        size.basis["largest_new_radius_mm"],
    )


@dataclass(frozen=True)
class SeriesDoubt:
    """The value for tire.sigma, mm. of : kind of the series that sets it, None for the usual value of what was not read"""

    sigma: float
    of: str | None


def series_doubt(combined: Mapping[str, CombinedReading], provisional: ProvisionalJob) -> SeriesDoubt:
    """One standard deviation to carry into the budget: the largest that any series gives the gap anywhere on the fender.

    A series counts with the largest change that its quantity makes in a gap, mm of gap for each mm or degree: the tilt
    counts most at the ends. Of a crown radius read both ways the circumference counts. While mount height, ahead, tilt or
    crown radius have no series, the sum is not less than the budget's usual value.
    Raises ValueError if there is no series that sets a gap.
    """
    slopes = _largest_slopes(provisional)
    counted: dict[str, CombinedReading] = {}
    for name, quantity in _SETS_GAP.items():
        if name in combined and not (name == "radius" and "circumference" in combined):
            kind = READING_KINDS[name]
            share = slopes[QUANTITIES.index(quantity)] * kind.factor
            counted[name] = replace(combined[name], sigma=round(share * combined[name].sigma, 2))
    if not counted:
        raise ValueError("no series of mount height, ahead, tilt or crown radius: none sets a gap")
    sigma = sheet_sigma(counted.values())
    all_read = {_SETS_GAP[name] for name in counted} == set(_SETS_GAP.values())
    if not all_read and sigma < DEFAULT_SIGMA_MM:
        return SeriesDoubt(DEFAULT_SIGMA_MM, None)
    return SeriesDoubt(sigma, max(counted, key=lambda name: counted[name].sigma))


def sets_gap(name: str) -> bool:
    """True for a kind whose doubt the gap feels directly."""
    return name in _SETS_GAP


_SETS_GAP = {
    "height": "height",
    "ahead": "ahead",
    "tilt": "tilt",
    "radius": "crown_radius",
    "circumference": "crown_radius",
}


def _largest_slopes(provisional: ProvisionalJob) -> list[float]:
    """Largest change of a gap over the fender with each of QUANTITIES, mm for mm or degrees."""
    job = provisional.job
    places = candidate_places(job, job.clearance.gap, _STEP_DEG)
    slopes = GapModel(job).slopes(sheet_values(job), np.array([place.position for place in places if place.point == "C"]))
    return [float(value) for value in np.abs(slopes).max(axis=0)]
