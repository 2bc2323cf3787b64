# SPDX-License-Identifier: GPL-3.0-or-later
"""Page of the build sheet: coverage and spray, seen from the rider's left."""

from __future__ import annotations

import math

import numpy as np

from ...core.base.arrays import Array
from ...core.coverage.coverage import FenderCoverage, coverage_lines, job_targets
from ...core.coverage.spray import tangent_line
from ...core.drawing.drawing import circle
from ...core.lines.lines_report import lines_words
from ...core.tire.job_tire import static_radius
from ...core.views.line_view import SIDE, line_view
from ...pipeline.job_result import JobResult
from .sheet_flow import GRAY, MARGIN, SMALL, WIDTH, SheetFlow

_SPRAY = (0.1, 0.35, 0.75)
_BIKE = (0.7, 0.35, 0.0)
_DASH = (1.5, 1.0)
_MIRROR = np.array([-1.0, 1.0])
_HIGHEST = 130.0


def draw_coverage(flow: SheetFlow, result: JobResult) -> None:
    """Wheel, fender, ground, the spray lines that go free and those that reach a target, lines of the bike; the sentences below."""
    job, fender, coverage = result.job, result.finished.whole, result.coverage
    radius, ground = static_radius(job), -coverage.axle_height
    targets = job_targets(job)
    lines = _spray_lines(coverage, radius)
    # (forward, up); the page shows the front on the left, as the other views of the sheet do
    things = [fender.bounds[:, 1:] * _MIRROR, *lines, radius * np.array([[-1.0, -1.0], [1.0, 1.0]]), np.array([[0.0, ground]])]
    things += [
        np.array([-target.center[1], target.center[2]]) + target.radius * np.array([[-1.0, -1.0], [1.0, 1.0]])
        for target in targets
    ]
    things += [np.array(bike.points) * _MIRROR for bike in job.bike_lines if bike.view == "side"]
    low, high = np.concatenate(things).min(axis=0), np.concatenate(things).max(axis=0)
    scale = float(min((WIDTH - 10.0) / (high[0] - low[0]), _HIGHEST / (high[1] - low[1])))
    bottom = flow.room(scale * float(high[1] - low[1]) + 8.0) + 4.0
    shift = np.array([MARGIN + 0.5 * (WIDTH + scale * float(high[0] + low[0])), bottom - scale * float(low[1])])

    def put(points: Array) -> Array:
        return np.asarray(scale * points * _MIRROR + shift)

    page = flow.page
    page.line(put(circle((0.0, 0.0), radius).points), 0.2, color=GRAY)
    page.line(put(np.array([[low[0], ground], [high[0], ground]])), 0.3, color=GRAY)
    page.stretches(scale * line_view(fender, SIDE) + shift, 0.3)
    for line in lines:
        page.line(put(line), 0.2, _DASH, _SPRAY)
    for bike in (line for line in job.bike_lines if line.view == "side"):
        drawn = np.array(bike.points) * _MIRROR
        page.line(put(drawn), 0.35, color=_BIKE)
        x, y = put(drawn[len(drawn) // 2]).tolist()
        page.text(bike.name, (x, y + 1.0), SMALL, "center", color=_BIKE)
    told = None
    for target in targets:
        middle = np.array([-target.center[1], target.center[2]])
        page.line(put(circle(middle, target.radius).points), 0.25)
        x, y = put(middle).tolist()
        if told is None or np.hypot(*(middle - told)) > 1.0:  # both sides lie on each other in this view
            page.text(target.name, (x, y - 0.5 * SMALL), SMALL, "center")
        told = middle
    x, y = put(np.array([0.0, ground])).tolist()
    page.text("ground", (x, y + 1.0), SMALL, "center", color=GRAY)
    flow.space(2.0)
    flow.bullets(coverage_lines(coverage))
    flow.bullets(lines_words(result.lines))
    flow.bullets(
        (
            "Spray is taken to leave the tread along its tangents, without air and gravity (common practice). Local rules on coverage come first.",
        )
    )


def _spray_lines(coverage: FenderCoverage, radius: float) -> list[Array]:
    """The free line and, for each target, the first and last that reach it."""
    stations = [coverage.free_deg]
    for hit in coverage.hits:
        stations += [hit.from_deg, hit.to_deg]
    return [tangent_line(radius, station, 2.2 * radius) for station in sorted({s for s in stations if not math.isnan(s)})]
