# SPDX-License-Identifier: GPL-3.0-or-later
"""What is told of the lines of the bike beside those of its fender."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..job.job_sections import BikeLine
from ..job.job_sheet import Job
from ..skin.cage import Cage
from ..skin.skin_stencil import SkinStencil
from .compare_line import LineMatch, compare_line
from .own_line import own_line, own_rows


@dataclass(frozen=True, eq=False)
class MatchedLine:
    """A line of the bike and its match."""

    line: BikeLine
    match: LineMatch


def matched_lines(job: Job, cage: Cage, stencil: SkinStencil) -> tuple[MatchedLine, ...]:
    """All lines of a job beside the skin of a half cage. Raises JobError if one never comes near, CageError if it is no half."""
    found = []
    for i, line in enumerate(job.bike_lines):
        own = own_line(cage, stencil, own_rows(cage, stencil, line.part), line.view)
        found.append(MatchedLine(line, compare_line(f"bike_line[{i}]", line, own)))
    return tuple(found)


def lines_report(lines: tuple[MatchedLine, ...]) -> list[dict[str, Any]]:
    """What report.json says: where both run side by side, distance, angle and curvature."""
    return [
        {
            "name": each.line.name,
            "part": each.line.part,
            "view": each.line.view,
            "mean_mm": round(float(np.abs(each.match.offset).mean()), 3),
            "uneven_mm": round(float(np.ptp(each.match.offset)), 3),
            "angle_deg": round(float(each.match.angle_deg.mean()), 3),
            "own_radius_mm": _radius(each.match.own_curvature),
            "line_radius_mm": _radius(each.match.line_curvature),
        }
        for each in lines
    ]


def lines_words(lines: tuple[MatchedLine, ...]) -> tuple[str, ...]:
    """The same as sentences."""
    return tuple(
        f"{told['name']}: {told['mean_mm']:.1f} mm from the {told['part']} in the mean, uneven by {told['uneven_mm']:.1f} mm, "
        f"{told['angle_deg']:.1f} deg; radius {_said(told['line_radius_mm'])}, the fender's {_said(told['own_radius_mm'])}"
        for told in lines_report(lines)
    )


_STRAIGHT_MM = 10_000.0


def _radius(curvature: np.ndarray[Any, np.dtype[np.float64]]) -> float | None:
    """Radius of the mean curvature, mm, positive; None where it is straight."""
    mean = abs(float(curvature.mean()))
    return round(1.0 / mean, 1) if mean * _STRAIGHT_MM > 1.0 else None


def _said(radius: float | None) -> str:
    return "straight" if radius is None else f"{radius:.0f} mm"
