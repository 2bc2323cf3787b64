# SPDX-License-Identifier: GPL-3.0-or-later
"""What a fender covers, where it ends, and what spray does past it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..base.wheel_axes import station_of
from ..job.job_sheet import Job
from ..mesh.triangle_mesh import TriangleMesh
from ..tire.job_tire import static_radius
from ..tire.tire_profile import tire_profile
from .covered_share import ABOVE, BEHIND, FRONT, covered_share
from .spray import SprayHit, SprayTarget, free_station, spray_hits
from .tips import Tips, fender_tips

GROUND = -180.0


@dataclass(frozen=True, eq=False)
class FenderCoverage:
    """above, front, behind : share of the tire's outline that is hidden, 0 to 1

    axle_height : mm over the ground; stated : whether the sheet states it
    free_deg : the highest station behind whose tangent the fender does not catch, NaN if it catches all; hits : on each target
    """

    above: float
    front: float
    behind: float
    tips: Tips
    axle_height: float
    stated: bool
    free_deg: float
    hits: tuple[SprayHit, ...]


def fender_coverage(job: Job, fender: TriangleMesh) -> FenderCoverage:
    """The coverage of a finished fender. fender : closed, wheel axes, mm; the tire as it stands

    Raises ValueError if the fender is open or beside the center plane, JobError on an unknown size code.
    """
    profile = tire_profile(job).static
    stated = job.coverage.axle_height
    radius = static_radius(job)
    above, front, behind = (covered_share(fender, profile, eye) for eye in (ABOVE, FRONT, BEHIND))
    height = radius if stated is None else stated
    return FenderCoverage(
        above,
        front,
        behind,
        fender_tips(fender, height),
        height,
        stated is not None,
        free_station(fender, radius),
        spray_hits(fender, profile, job_targets(job)),
    )


def job_targets(job: Job) -> tuple[SprayTarget, ...]:
    """The targets of a job, those on both sides twice."""
    found = []
    for target in job.targets:
        center = np.array(target.center)
        found.append(SprayTarget(target.name, center, target.radius))
        if target.sides == "both" and center[0] != 0.0:
            found.append(SprayTarget(f"{target.name}, other side", center * [-1.0, 1.0, 1.0], target.radius))
    return tuple(found)


def steepest_free_deg(coverage: FenderCoverage) -> float:
    """Angle over the ground of the steepest spray that goes free behind, over 90 where it leans forward; NaN if none does.

    A tangent at the station t climbs at 180 + t degrees, from level at the ground on.
    """
    return coverage.free_deg - GROUND


def coverage_report(coverage: FenderCoverage) -> dict[str, Any]:
    """What report.json says of the coverage; what does not exist is null."""
    tips = coverage.tips
    return {
        "hidden_from_above": round(coverage.above, 4),
        "hidden_from_front": round(coverage.front, 4),
        "hidden_from_behind": round(coverage.behind, 4),
        "axle_height_mm": round(coverage.axle_height, 2),
        "axle_height_basis": "stated" if coverage.stated else "radius of the unloaded tire",
        "front_tip": {"station_deg": round(tips.front_deg, 2), "height_mm": round(tips.front_height, 1)},
        "rear_tip": {"station_deg": round(tips.rear_deg, 2), "height_mm": round(tips.rear_height, 1)},
        "lowest": {"height_mm": round(tips.lowest_height, 1), "station_deg": round(float(station_of(tips.lowest)), 2)},
        "free_spray_to_deg": _number(coverage.free_deg),
        "steepest_free_spray_deg": _number(steepest_free_deg(coverage)),
        "targets": [
            {
                "name": hit.name,
                "kept_off": round(hit.kept_off, 3),
                "from_station_deg": _number(hit.from_deg),
                "to_station_deg": _number(hit.to_deg),
            }
            for hit in coverage.hits
        ],
    }


def coverage_lines(coverage: FenderCoverage) -> tuple[str, ...]:
    """Sentences for the panel and the build sheet."""
    tips = coverage.tips
    hidden = ", ".join(
        f"{100 * share:.0f} % {side}"
        for share, side in ((coverage.above, "from above"), (coverage.front, "from the front"), (coverage.behind, "from behind"))
    )
    ends = (
        f"Front end at {tips.front_deg:+.0f} deg, {tips.front_height:.0f} mm over ground; rear end at {tips.rear_deg:+.0f} deg, "
        f"{tips.rear_height:.0f} mm; lowest place {tips.lowest_height:.0f} mm."
    )
    steepest = steepest_free_deg(coverage)
    free = (
        "Behind the top of the tire every spray line meets the fender."
        if math.isnan(steepest)
        else f"Behind the fender spray goes free up to {coverage.free_deg:+.0f} deg, where it climbs at {steepest:.0f} deg over the ground."
    )
    lines = [f"Hidden of the tire: {hidden}.", ends, free]
    lines += [_hit_line(hit) for hit in coverage.hits]
    return tuple(lines)


def coverage_cautions(coverage: FenderCoverage) -> tuple[str, ...]:
    """What must be told of the heights."""
    if coverage.stated:
        return ()
    sentence = (
        f"coverage.axle_height was not stated: heights over ground are taken with the unloaded tire, {coverage.axle_height:.0f} mm; "
        "measure it with the rider seated."
    )
    return (sentence,)


def _hit_line(hit: SprayHit) -> str:
    if math.isnan(hit.from_deg):
        return f"{hit.name}: no spray line from the tread reaches it."
    return f"{hit.name}: spray from {hit.from_deg:+.0f} to {hit.to_deg:+.0f} deg reaches it; the fender keeps {100 * hit.kept_off:.0f} % off."


def _number(value: float) -> float | None:
    return None if math.isnan(value) else round(value, 2)
