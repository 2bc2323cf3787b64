# SPDX-License-Identifier: GPL-3.0-or-later
"""The tire of a job: sizes by its code, and what was measured of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..job.tire_code import parse_tire_code
from ..job.tire_size import TireSize, tire_size

if TYPE_CHECKING:
    from ..job.job_sheet import Job


def job_tire_size(job: Job) -> TireSize:
    """Sizes by the code of the job's tire, its use, rim and top speed. Raises JobError on an unknown code."""
    tire = job.tire
    return tire_size(parse_tire_code(tire.size), tire.use, tire.rim_width_in, job.wheel.top_speed_kmh, tire.measuring_rim_in)


def static_radius(job: Job) -> float:
    """Axle to crown of the tire as it stands, mm: measured, else by the code."""
    measured = job.tire.measured_radius
    return job_tire_size(job).nominal_radius_mm if measured is None else measured


def static_width(job: Job) -> float:
    """Widest width of the tire as it stands, mm: measured, else by the code."""
    measured = job.tire.measured_width
    return job_tire_size(job).section_width_mm if measured is None else measured
