# SPDX-License-Identifier: GPL-3.0-or-later
"""What a builder must be told before a fender is made and ridden."""

from __future__ import annotations

import numpy as np

from ..clearance.budget import DEFAULT, Budget, budget
from ..clearance.check_motion import motion_cautions
from ..clearance.envelope import envelope
from ..job.job_sheet import Job
from ..job.tire_code import parse_tire_code
from ..laminate.laminate_cautions import laminate_cautions
from ..seat.bore import bore_of
from ..seat.hardware import fender_stack
from ..tables.tire_rules import FROM_MEMORY
from ..tire.job_tire import job_tire_size
from ..tire.tire_profile import possible_bulge, tire_profile
from ..wall.job_edges import job_edges
from .use_cautions import SCREW_LOCK, use_cautions

SAFETY = (
    "A fender that touches a wheel can lock it: check the clearance on the bike, whatever this report says.",
    (
        "Before the first ride spin the wheel by hand, turn the bars to full lock both ways, and take the suspension to full "
        "bump with the springs out."
    ),
    f"{SCREW_LOCK} Check all clearances and screws again after the first ride.",
    "Take all readings at one stance of the bike, as the travel is counted from there; say which, and measure again at the same.",
    "Every change of tire, wheel, mount or suspension needs a new check.",
    "Local rules on fenders and on modified vehicles come first; structural and load questions go to licensed people.",
)
_BULGE_MM = 2.0
"""A measured profile coarser than this is told; our choice."""

_LOAD_BEARING_WALL_MM = 2.4
"""Wall of load-bearing prints, 2.4 to 3.0 mm [S] (printing bureaus: layerx3d.in, layer-one.com.au, neway3dp.com)."""


def cautions(job: Job) -> tuple[str, ...]:
    """Sentences for the report and the build sheet, the general ones first. Raises JobError on an unknown size code."""
    allowances = budget(job)
    return (
        *SAFETY,
        *laminate_cautions(job),
        *_choice_cautions(job, allowances),
        *_budget_cautions(allowances),
        *_tire_cautions(job),
        *_mount_cautions(job),
        *motion_cautions(job),
        *_part_cautions(job),
        *use_cautions(job),
    )


def _choice_cautions(job: Job, allowances: Budget) -> list[str]:
    said = []
    if job.clearance.tire == "fitted":
        said.append(
            f"Only the fitted tire is cleared, {job.tire.size} as it was measured: every change of tire, even to the same size, needs a "
            "new check."
        )
    if job.clearance.sum == "squares":
        spent = allowances.required_worst_mm - allowances.required_mm
        said.append(
            f"Allowances that vary on their own are added by squares: if all are at their worst at once, {spent:.1f} mm of what is kept "
            "are spent."
        )
    return said


def _budget_cautions(allowances: Budget) -> list[str]:
    said = [
        f"{line.name[0].upper()}{line.name[1:]} was not stated: the default of {line.mm:.1f} mm is taken; measure it."
        for line in allowances.lines
        if line.basis == DEFAULT
    ]
    remembered = ", ".join(line.name for line in allowances.lines if line.basis == FROM_MEMORY)
    if remembered:
        said.append(f"These figures are from memory and are to be confirmed against UN R75: {remembered}.")
    return said


def _tire_cautions(job: Job) -> list[str]:
    size, code, tire = job_tire_size(job), parse_tire_code(job.tire.size), job.tire
    said = [*size.cautions, *(f"Size code {code.text}: {note}." for note in code.notes)]
    if tire.measured_radius is not None and tire.measured_radius > size.largest_new_radius_mm:
        said.append(
            f"The measured radius of {tire.measured_radius:g} mm is more than a new {code.text} may have "
            f"({size.largest_new_radius_mm:.1f} mm, from memory): measure again; the measured one counts."
        )
    if tire.measured_width is not None and tire.measured_width > size.largest_new_width_mm:
        said.append(
            f"The measured width of {tire.measured_width:g} mm is more than a new {code.text} may have "
            f"({size.largest_new_width_mm:.1f} mm, from memory): measure again; the measured one counts."
        )
    if tire.profile is None:
        said.append(
            "The profile of the tire was not measured: an arc is taken that contains ordinary crowns (our judgement); measure a "
            "flat or squared-off tire."
        )
    else:
        said.append("The crown follows the measured profile: a tire of the same size with a flatter crown needs a new check.")
        bulge = possible_bulge(tire_profile(job).static)
        if bulge > _BULGE_MM:
            said.append(f"Between its measured points the tire may stand out by up to {bulge:.1f} mm more: measure more points.")
    speed = job.wheel.top_speed_kmh
    if speed is not None and code.speed_kmh is not None and not code.beyond_symbol and speed > code.speed_kmh:
        said.append(f"The top speed of {speed:g} km/h is over the {code.speed_kmh:g} km/h that {code.text} is rated for.")
    return said


def _mount_cautions(job: Job) -> list[str]:
    mount = job.mount
    said: list[str] = []
    if mount.side == "under":
        depth = bore_of("mount", mount).depth
        inside = fender_stack("mount", mount, depth, job.wall.thickness, mount.plate[2] if mount.plate is not None else None)
        if inside:
            what = "nuts with their washers and screw ends" if mount.nut_on_fender else "heads with their washers"
            said.append(
                f"The {mount.thread} {what} stand {inside[-1].end:.1f} mm proud of the inner face, and are checked as the fender is: use the "
                "hardware of the list."
            )
        said.append(
            "The bolts are reached from the tire's side: fit the fender with the wheel out, or check that a hand gets in."
        )
    if mount.side == "over":
        said.append(
            f"The bracket's plate, {mount.plate[2]:g} mm thick, lies between fender and tire: check its own clearance; that of its screws "
            "is checked here."
            if mount.plate is not None
            else "The bracket's plate lies between fender and tire and is not stated: its screws were checked as if it had no thickness; "
            "state mount.plate."
        )
    tire = envelope(job).body
    for seat in job.seats:
        toward_tire = float(tire.distance_and_gradient(np.array([seat.center]))[1][0] @ np.array(seat.normal)) < 0.0
        if toward_tire and seat.bracket is not None:
            said.append(
                f'The bracket of the seat "{seat.name}", {seat.bracket:g} mm thick, lies between fender and tire: check its own clearance; '
                "that of its screws is checked here."
            )
    forward, rearward = job.travel.axle_slot
    if forward or rearward:
        where = "fully forward" if not forward else f"{forward:g} mm behind its foremost place"
        said.append(
            f"The axle slot was taken as {forward:g} mm forward and {rearward:g} mm rearward of the measured place: this holds "
            f"only if the axle was {where} when the mount was measured."
        )
    return said


def _part_cautions(job: Job) -> list[str]:
    said: list[str] = []
    width = max(job_tire_size(job).section_width_mm, job.tire.measured_width or 0.0)
    if 2 * job.cage.half_width < width:
        said.append(
            f"The fender is {2 * job.cage.half_width:g} mm wide, less than the tire's {width:.0f} mm; some rules ask for the "
            "section width at least (ADR 42/05 17.1.1)."
        )
    if any(edge.radius(job.wall.thickness) == 0.0 for edge in job_edges(job).edges):
        said.append("The edge is sharp all round: break it by hand before anyone rides, or state a wall.edge_size.")
    if job.wall.thickness < _LOAD_BEARING_WALL_MM:
        said.append(
            f"A wall of {job.wall.thickness:g} mm is thin for a part that bears load; printing bureaus advise "
            f"{_LOAD_BEARING_WALL_MM:g} to 3 mm."
        )
    return said
