# SPDX-License-Identifier: GPL-3.0-or-later
"""What of the budget a builder may spend, what it brings, and what it costs."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..job.job_sheet import Job
from .budget import Allowance, budget


@dataclass(frozen=True)
class BudgetOption:
    """saves_mm : of the way from the tire as it stands to the skin; price : what the builder takes on for it"""

    name: str
    saves_mm: float
    price: str


def budget_options(job: Job) -> tuple[BudgetOption, ...]:
    """Choices that would bring the fender nearer, the one that saves most first; those that save nothing are left out."""
    found = []
    here = budget(job).skin_total_mm
    for name, other, price in _others(job):
        saves = here - budget(other).skin_total_mm
        if saves > _LEAST_MM:
            found.append(BudgetOption(name, saves, price))
    return tuple(sorted(found, key=lambda option: -option.saves_mm))


_LEAST_MM = 0.05


def _others(job: Job) -> list[tuple[str, Job, str]]:
    tire, clearance = job.tire, job.clearance
    found = []
    if clearance.tire == "any" and tire.measured_radius is not None and tire.measured_width is not None:
        fitted = replace(job, clearance=replace(clearance, tire="fitted"))
        found.append(('clearance.tire = "fitted"', fitted, "every change of tire needs a new check, even to the same size"))
    if clearance.sum == "worst":
        squares = replace(job, clearance=replace(clearance, sum="squares"))
        found.append(('clearance.sum = "squares"', squares, "if all go wrong at once, some of the gap is spent"))
    sums = budget(job)
    halves: tuple[tuple[str, Allowance, str, str], ...] = (
        ("clearance.runout_radial", "radial run-out", "radial run-out", "measure it, and true the wheel"),
        ("clearance.flex", "flex", "fender flex", "make the fender stiffer, and measure it"),
        ("tire.sigma", "uncertainty", "measurement uncertainty", "measure more often and better"),
    )
    for key, code, line, price in halves:
        half = _with_half(job, key, sums.allowance_mm(code))
        if half is not None:
            found.append((f"half of the {line}", half, f"{price}; then state {key}"))
    return found


def _with_half(job: Job, key: str, mm: float) -> Job | None:
    """The job with half of an allowance (mm) stated; None where there is nothing to halve."""
    if mm <= 0.0:
        return None
    section, name = key.split(".")
    value = 0.5 * mm if name != "sigma" else 0.5 * mm / job.clearance.coverage_factor
    return replace(job, **{section: replace(getattr(job, section), **{name: value})})
