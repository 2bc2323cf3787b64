# SPDX-License-Identifier: GPL-3.0-or-later
"""The tire's profile in the meridian half plane: as it stands, and at its largest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, frozen
from ..base.errors import JobError
from ..job.job_sheet import Job
from ..job.tire_size import TireSize
from ..tables.tire_rules import RUNOUT_LATERAL_MM, RUNOUT_RADIAL_MM, SAFE_CROWN_FACTOR
from .convex_profile import convex_profile
from .job_tire import job_tire_size, static_radius, static_width

_ARC_STEPS = 64


@dataclass(frozen=True, eq=False)
class TireProfile:
    """Profiles (m, 2) of points (offset x >= 0, radius rho), mm, from the crown outward.

    static : the tire as it stands, measured or by the code, without allowances; convex
    largest : the tire at its largest, convex: size tolerance, growth at speed and run-out on top; never inside static
    radial_growth_mm, lateral_growth_mm : what tolerance and speed add to the static radius, and to its width on each side
    radial_runout_mm, lateral_runout_mm : the run-out on top of that
    """

    static: Array
    largest: Array
    radial_growth_mm: float
    lateral_growth_mm: float
    radial_runout_mm: float
    lateral_runout_mm: float


def tire_profile(job: Job) -> TireProfile:
    """Profiles of the job's tire.

    Measured radius and width stand in for the nominal ones, and the growth of the size code in mm comes on top; as one
    measured tire is a sample only, a tire larger than it, as the code allows, is covered too. Without measured points the
    crown is one arc of radius 0.75 x width, which contains every ordinary crown (our judgement; after US 9,045,010, claim 1).
    With them, a round crown of the largest width is covered beside the measured one. With clearance.tire "fitted" there is but
    the measured tire: it grows at speed, and that is all.
    Raises JobError if the measured profile is not monotone or does not reach the tire's edge.
    """
    size = job_tire_size(job)
    radius, width = static_radius(job), static_width(job)
    fitted = job.clearance.tire == "fitted"
    largest_radius = radius + growth_at_speed(size) if fitted else largest_static_radius(size, radius)
    largest_half = (width if fitted else largest_static_width(size, width)) / 2
    radial, lateral = runout(job)
    if job.tire.profile is None:
        static = _crown_arc(radius, width / 2, SAFE_CROWN_FACTOR * width)
        grown = _crown_arc(largest_radius, largest_half, SAFE_CROWN_FACTOR * 2 * largest_half)
    else:
        check_profile(job)
        static = measured_points(job, radius)
        shift = np.array([largest_half - width / 2, largest_radius - radius])
        # a profile that was read out past the stated width still takes the whole growth
        grown = static + shift
        if not fitted:
            grown = np.concatenate([grown, _crown_arc(largest_radius, largest_half, largest_half)])
    return TireProfile(
        static=frozen(convex_profile(static)),
        largest=frozen(convex_profile(grown + np.array([lateral, radial]))),
        radial_growth_mm=largest_radius - radius,
        lateral_growth_mm=largest_half - width / 2,
        radial_runout_mm=radial,
        lateral_runout_mm=lateral,
    )


def growth_at_speed(size: TireSize) -> float:
    """What the radius grows beyond the largest new tire at speed, mm."""
    return size.radius_at_speed_mm - size.largest_new_radius_mm


def check_fitted(job: Job) -> None:
    """JobError if only the fitted tire is to be cleared, and it was not measured."""
    if job.clearance.tire == "fitted":
        for key in ("measured_radius", "measured_width"):
            if getattr(job.tire, key) is None:
                raise JobError("clearance.tire", f'"fitted" is of a tire that is measured; state tire.{key}, or allowed is "any"')


def largest_static_radius(size: TireSize, radius: float) -> float:
    """Radius at speed of the largest tire, mm, for a tire that measures `radius`; never under what the code allows."""
    return max(radius, size.nominal_radius_mm) + size.radius_at_speed_mm - size.nominal_radius_mm


def largest_static_width(size: TireSize, width: float) -> float:
    """Largest width, mm, for a tire that measures `width`; at speed the limit is the same (R75, from memory)."""
    return max(width, size.section_width_mm) + size.largest_new_width_mm - size.section_width_mm


def runout(job: Job) -> tuple[float, float]:
    """Radial and lateral run-out, mm: stated, else the limits of the table."""
    stated = job.clearance
    radial = RUNOUT_RADIAL_MM if stated.runout_radial is None else stated.runout_radial
    lateral = RUNOUT_LATERAL_MM if stated.runout_lateral is None else stated.runout_lateral
    return radial, lateral


def measured_points(job: Job, radius: float) -> Array:
    """The measured profile as (offset, rho), with the crown itself in front. radius : of the crown, mm; returns (m, 2)."""
    points = np.concatenate([[[0.0, 0.0]], np.array(job.tire.profile, dtype=np.float64)])
    return np.column_stack([points[:, 0], radius - points[:, 1]])


def possible_bulge(profile: Array) -> float:
    """How far a convex tire through the corners of a convex profile can stand out between them, mm.

    profile : (m, 2) float, rows (offset, radius) from the crown outward. Between two corners a convex curve stays under the
    two neighboring sides, made longer; beside the crown it stays level, and it ends at the outermost corner.
    """
    # level and upright stand in for the sides that are not there
    corners = np.concatenate([profile[:1] - [[1.0, 0.0]], profile, profile[-1:] - [[0.0, 1.0]]])
    sides = np.diff(corners, axis=0)
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    turns = np.abs(np.diff(np.arctan2(sides[:, 1], sides[:, 0])))
    first, second = turns[:-1], turns[1:]
    # height of the triangle over a side, from the two angles at its ends
    reach = np.sin(first) * np.sin(second) / np.maximum(np.sin(first + second), 1e-9)
    return float(np.max(lengths[1:-1] * reach, initial=0.0))


def check_profile(job: Job) -> None:
    """Refuse a measured profile that is not one from the crown outward to the tire's edge; JobError("tire.profile", ...)."""
    if job.tire.profile is None:
        return
    offset, drop = np.array(job.tire.profile, dtype=np.float64).T
    if offset[0] == 0.0 and drop[0] != 0.0:
        raise JobError("tire.profile[0]", f"[0, {drop[0]:g}] has a drop on the crown itself; allowed there is [0, 0]")
    for i in range(1, len(offset)):
        if offset[i] <= offset[i - 1] or drop[i] < drop[i - 1]:
            raise JobError(
                f"tire.profile[{i}]",
                f"[{offset[i]:g}, {drop[i]:g}] after [{offset[i - 1]:g}, {drop[i - 1]:g}] turns back; "
                "from the crown outward each offset must be larger than the one before, and no drop smaller",
            )
    half = static_width(job) / 2
    # a width that was not measured may differ from the code's by its tolerance
    share = _EDGE_SHARE if job.tire.measured_width is not None else _EDGE_SHARE_BY_CODE
    if offset[-1] < share * half:
        raise JobError(
            f"tire.profile[{len(offset) - 1}]",
            f"ends at offset {offset[-1]:g}, but the tire is {half:.1f} mm wide on each side; "
            f"the profile must be measured out to the edge, at least {share * half:.1f}",
        )
    if offset[-1] > half + (half - share * half):
        raise JobError(
            f"tire.profile[{len(offset) - 1}]",
            f"reaches offset {offset[-1]:g}, past the tire's half width of {half:.1f} mm; the profile and the width contradict "
            "each other, measure tire.measured_width again",
        )
    if drop[-1] >= static_radius(job):
        raise JobError(f"tire.profile[{len(offset) - 1}]", f"has the drop {drop[-1]:g}; it must be less than the tire's radius")


_EDGE_SHARE = 0.95
_EDGE_SHARE_BY_CODE = 0.90
"""Share of the half width that a measured profile must reach; our choice."""


def _crown_arc(crown: float, half_width: float, radius: float) -> Array:
    """Points around an arc of the given radius, tangent at the crown (0, crown), cut at half_width.

    The chain of tangents lies outside the arc, so that the profile contains it.
    """
    end = np.arcsin(min(1.0, half_width / radius))
    angle = np.linspace(0.0, end, _ARC_STEPS + 1)
    step = angle[1] / 2
    tangent = angle[:-1] + step
    outside = radius / np.cos(step)
    x = np.concatenate([[0.0], outside * np.sin(tangent), [half_width]])
    rho = np.concatenate([[radius], outside * np.cos(tangent), [radius * np.cos(end)]])
    return np.column_stack([np.minimum(x, half_width), rho + crown - radius])
