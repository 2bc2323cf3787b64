# SPDX-License-Identifier: GPL-3.0-or-later
"""Steering axis and swingarm of a job, in wheel axes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError
from ..job.job_sheet import Job

_SHORTEST_ARM = 100.0
"""mm: a pivot nearer to the axle is none; our choice, as the least travel.swingarm."""


@dataclass(frozen=True, eq=False)
class SteeringAxis:
    """point : (3,) float, mm, its place nearest to the axle; direction : (3,) unit, up; rake_deg, offset_mm : of the axle ahead of it"""

    point: Array
    direction: Array
    rake_deg: float
    offset_mm: float

    def trail_mm(self, radius: float) -> float:
        """Ground trail with a wheel of a radius, mm: (R sin e - o) / cos e (the textbook form)."""
        rake = math.radians(self.rake_deg)
        return (radius * math.sin(rake) - self.offset_mm) / math.cos(rake)


@dataclass(frozen=True, eq=False)
class Swingarm:
    """pivot : (3,) float, mm, wheel axes; length_mm : from it to the axle"""

    pivot: Array
    length_mm: float

    def turn_deg(self, rise: float) -> float:
        """Turn about +x that lifts the axle by `rise`, mm, from where it was measured. Raises JobError if it is out of reach."""
        up = float(self.pivot[2])
        if abs(rise - up) >= self.length_mm:
            key = "travel.bump" if rise > 0.0 else "travel.rebound"
            raise JobError(
                key,
                f"is {abs(rise):g}, and the swingarm is {self.length_mm:g} long with its pivot {up:g} mm over the axle; allowed is less "
                f"than {self.length_mm + math.copysign(up, up * rise):g}",
            )
        return math.degrees(math.asin((rise - up) / self.length_mm) - math.asin(-up / self.length_mm))


def steering_axis(job: Job) -> SteeringAxis:
    """The steering axis: leaned back by the rake, travel.fork_offset behind the axle or through travel.head.

    Where they are not stated, the rake is 0 and the offset 0; what needs them refuses that: see check_motion.
    """
    travel = job.travel
    rake = math.radians(travel.fork_rake or 0.0)
    ahead = np.array([0.0, math.cos(rake), -math.sin(rake)])
    offset = travel.fork_offset or 0.0
    if travel.head is not None:
        offset = float(ahead @ [0.0, -travel.head[0], travel.head[1]])
    return SteeringAxis(offset * ahead, np.array([0.0, math.sin(rake), math.cos(rake)]), math.degrees(rake), offset)


def swingarm(job: Job) -> Swingarm | None:
    """The swingarm: its pivot as stated, or level ahead of the axle at its length; None if neither is known.

    Raises JobError if both are stated, or the pivot is on the axle.
    """
    travel = job.travel
    if travel.pivot is None:
        return None if travel.swingarm is None else Swingarm(np.array([0.0, -travel.swingarm, 0.0]), travel.swingarm)
    if travel.swingarm is not None:
        raise JobError("travel.swingarm", f"{travel.swingarm:g} is stated beside travel.pivot; state one of them")
    ahead, up = travel.pivot
    length = math.hypot(ahead, up)
    if length < _SHORTEST_ARM or ahead <= abs(up):
        raise JobError(
            "travel.pivot",
            f"[{ahead:g}, {up:g}] is no swingarm's: allowed is a pivot at least {_SHORTEST_ARM:g} mm from the axle, and farther ahead of it "
            "than above or below",
        )
    return Swingarm(np.array([0.0, -ahead, up]), length)
