# SPDX-License-Identifier: GPL-3.0-or-later
"""The budget: every allowance between the tire as it stands and the fender, named, with its value and basis."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from ..job.job_sheet import Job
from ..seat.seat_offset import wall_shares
from ..tables.tire_rules import FROM_MEMORY, RUNOUT_SOURCE
from ..tire.job_tire import job_tire_size, static_radius, static_width
from ..tire.speed_growth import speed_growth
from ..tire.tire_profile import growth_at_speed, runout, tire_profile
from ..wall.job_edges import skin_shares
from ..wall.job_laminate import laminate_mm

MEASURED = "measured"
STATED = "common practice"
DEFAULT = "default"
COMPUTED = "computed"

DEFAULT_SIGMA_MM = 1.0
DEFAULT_FLEX_MM = 3.0
"""One standard deviation of a tape reading, and how far a plastic fender gives way; defaults of ours without a source."""

SQUARES = "by squares"

RADIAL = "radial"
LATERAL = "lateral"
BOTH = "both"


Allowance = Literal[
    "size tolerance",
    "growth",
    "width tolerance",
    "radial run-out",
    "lateral run-out",
    "gap",
    "flex",
    "uncertainty",
    "unmeasured radius",
    "wall",
]


@dataclass(frozen=True)
class BudgetLine:
    """One allowance.

    code : what it is, for rules to hang on; name : how it is called
    basis : "published", "common practice", "measured", "from memory", "computed" or "default"
    independent : True if it varies on its own and may be added by squares
    direction : "radial" (at the crown), "lateral" (at the sides), or "both"
    in_envelope : True if the tire at its largest holds it already
    """

    code: Allowance
    name: str
    mm: float
    basis: str
    note: str
    independent: bool
    direction: str
    in_envelope: bool


@dataclass(frozen=True)
class Budget:
    """All allowances of a job, mm.

    worst_case_mm : radial sum; root_sum_square_mm : the same with the independent lines added by squares
    envelope_mm : radial part that the envelope holds; required_mm : what the part's inner face keeps from the envelope, by the sum
    that counts; required_worst_mm, required_squares_mm : the same by either
    wall_mm : what the skin keeps on top of required_mm, by the side that the wall lies on; used : which sum counts
    """

    lines: tuple[BudgetLine, ...]
    worst_case_mm: float
    root_sum_square_mm: float
    lateral_worst_case_mm: float
    envelope_mm: float
    required_worst_mm: float
    required_squares_mm: float
    wall_mm: float
    used: str = "worst case"

    @property
    def required_mm(self) -> float:
        """What the part's inner face keeps from the envelope."""
        return self.required_squares_mm if self.used == SQUARES else self.required_worst_mm

    @property
    def skin_total_mm(self) -> float:
        """From the crown of the tire as it stands to the skin."""
        return self.envelope_mm + self.skin_required_mm

    @property
    def flex_mm(self) -> float:
        """What is counted for the fender giving way."""
        return self.allowance_mm("flex")

    @property
    def flex_and_uncertainty_mm(self) -> float:
        """What flex and measurement uncertainty take from any gap, by the sum that counts."""
        flex, uncertainty = self.flex_mm, self.allowance_mm("uncertainty")
        return math.hypot(flex, uncertainty) if self.used == SQUARES else flex + uncertainty

    def allowance_mm(self, code: Allowance) -> float:
        """What is counted for an allowance, mm; 0 where the budget has no such line."""
        return next((line.mm for line in self.lines if line.code == code), 0.0)

    @property
    def skin_required_mm(self) -> float:
        """What the skin keeps from the envelope."""
        return self.required_mm + self.wall_mm


def budget(job: Job) -> Budget:
    """The budget of a job: envelope lines (tolerance, growth, run-out), then gap, flex, uncertainty and wall."""
    lines = (*_tire_lines(job), *_runout_lines(job), *_clearance_lines(job), _wall_line(job))
    radial = [line for line in lines if line.direction != LATERAL]
    lateral = [line for line in lines if line.direction != RADIAL]
    wall = lines[-1].mm
    required = sum(line.mm for line in radial if not line.in_envelope) - wall
    # what adding by squares saves is taken off what is kept beside the envelope, where it saves least, and never off the gap
    saved = min(sum(line.mm for line in some) - _root_sum_square(some) for some in (radial, lateral))
    return Budget(
        lines=lines,
        worst_case_mm=sum(line.mm for line in radial),
        root_sum_square_mm=_root_sum_square(radial),
        lateral_worst_case_mm=sum(line.mm for line in lateral),
        envelope_mm=sum(line.mm for line in radial if line.in_envelope),
        required_worst_mm=required,
        required_squares_mm=max(job.clearance.gap, required - saved),
        wall_mm=wall,
        used=SQUARES if job.clearance.sum == "squares" else "worst case",
    )


def _root_sum_square(lines: list[BudgetLine]) -> float:
    fixed = sum(line.mm for line in lines if not line.independent)
    return fixed + math.sqrt(sum(line.mm**2 for line in lines if line.independent))


def _tire_lines(job: Job) -> tuple[BudgetLine, ...]:
    size = job_tire_size(job)
    radius, width = static_radius(job), static_width(job)
    profile = tire_profile(job)
    beyond_new = growth_at_speed(size)
    tolerance = profile.radial_growth_mm - beyond_new
    speed, fitted = job.wheel.top_speed_kmh, job.clearance.tire == "fitted"
    modeled = ""
    if speed is not None:
        growth = speed_growth(radius, speed)
        modeled = f"; the MF-Tyre law with an illustrative coefficient gives {growth:.1f} mm at {speed:g} km/h"
    return (
        BudgetLine(
            "size tolerance",
            "tire size tolerance",
            tolerance,
            FROM_MEMORY,
            _ONLY_FITTED
            if fitted
            else f"from the {_source(job.tire.measured_radius)} radius {radius:.1f} to the largest new {job.tire.size} (UN R75 6.1.5)",
            True,
            RADIAL,
            True,
        ),
        BudgetLine(
            "growth",
            "tire growth at speed",
            beyond_new,
            FROM_MEMORY,
            f"beyond the largest new tire, section height x {size.speed_factor:.2f} (UN R75 Annex 9){modeled}",
            False,
            RADIAL,
            True,
        ),
        BudgetLine(
            "width tolerance",
            "tire width tolerance",
            profile.lateral_growth_mm,
            FROM_MEMORY,
            _ONLY_FITTED
            if fitted
            else f"each side, from the {_source(job.tire.measured_width)} width {width:.1f} to the widest new tire (UN R75 6.1.4)",
            True,
            LATERAL,
            True,
        ),
    )


_ONLY_FITTED = 'none: only the fitted, measured tire is cleared (clearance.tire = "fitted")'


def _source(measured: float | None) -> str:
    return "nominal" if measured is None else "measured"


def _runout_lines(job: Job) -> tuple[BudgetLine, ...]:
    radial, lateral = runout(job)
    stated = job.clearance
    return (
        _runout_line("radial run-out", radial, stated.runout_radial, RADIAL),
        _runout_line("lateral run-out", lateral, stated.runout_lateral, LATERAL),
    )


def _clearance_lines(job: Job) -> tuple[BudgetLine, ...]:
    stated, tire = job.clearance, job.tire
    sigma = DEFAULT_SIGMA_MM if tire.sigma is None else tire.sigma
    lines = [
        BudgetLine("gap", "gap", stated.gap, STATED, "air that is always kept; decided by the builder", False, BOTH, False),
        _flex_line(job),
        _stated_line(
            "uncertainty",
            "measurement uncertainty",
            stated.coverage_factor * sigma,
            tire.sigma,
            MEASURED,
            f"coverage factor {stated.coverage_factor:g} x standard deviation {sigma:g} of a hand reading",
        ),
    ]
    if tire.measured_radius is None:
        size = job_tire_size(job)
        lines.append(
            BudgetLine(
                "unmeasured radius",
                "radius not measured",
                size.nominal_radius_mm - size.least_new_radius_mm,
                FROM_MEMORY,
                "the height was taped from a tire that may be the smallest new one (UN R75 6.1.5); state tire.measured_radius",
                True,
                RADIAL,
                False,
            )
        )
    return tuple(lines)


def _flex_line(job: Job) -> BudgetLine:
    stated, computed = job.clearance.flex, job.computed_flex
    if stated is None and computed is not None:
        note = "not stated; the most that the print comes toward the wheel under a hand at a tip or in the wind, as a shell"
        return BudgetLine("flex", "fender flex", computed, COMPUTED, note, True, BOTH, False)
    return _stated_line("flex", "fender flex", DEFAULT_FLEX_MM if stated is None else stated, stated, STATED, "no source")


def _runout_line(
    name: Literal["radial run-out", "lateral run-out"], mm: float, stated: float | None, direction: str
) -> BudgetLine:
    if stated is None:
        return BudgetLine(name, name, mm, DEFAULT, f"not stated; {RUNOUT_SOURCE}", True, direction, True)
    return BudgetLine(name, name, mm, MEASURED, "stated in the job sheet", True, direction, True)


def _stated_line(code: Allowance, name: str, mm: float, stated: float | None, basis: str, note: str) -> BudgetLine:
    if stated is None:
        return BudgetLine(code, name, mm, DEFAULT, f"not stated; {note}", True, BOTH, False)
    return BudgetLine(code, name, mm, basis, note, True, BOTH, False)


def _wall_line(job: Job) -> BudgetLine:
    share = skin_shares(job)[1]
    note = f"the wall of {job.wall.thickness:g} mm lies {job.wall.side} of the skin"
    deeper = laminate_mm(job) - wall_shares(job.wall)[0]
    if deeper == share and deeper > wall_shares(job.wall)[1]:
        note += f", and the laminate of {laminate_mm(job):.2f} mm reaches deeper"
    elif share > wall_shares(job.wall)[1]:
        note += ", and the bead stands past it"
    return BudgetLine("wall", "wall", share, STATED, note, False, BOTH, False)
