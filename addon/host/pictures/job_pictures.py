# SPDX-License-Identifier: GPL-3.0-or-later
"""The pictures of a finished job."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from ...core.base.wheel_axes import station_of
from ...core.clearance.hardware_clearance import hardware_excess
from ...core.tables.printed_wall import least_wall
from ...core.wall.wall_map import wall_map
from ...pipeline.job_result import JobResult
from .clearance_picture import ClearancePicture, render_clearance
from .parts_picture import render_parts
from .wall_picture import render_wall


def draw_pictures(result: JobResult, folder: Path) -> Iterator[str]:
    """Write clearance.png, wall.png and pieces.png into a folder; says which comes next."""
    render_clearance(_clearance(result), folder / "clearance.png")
    yield "Picture of the wall"
    _draw_wall(result, folder / "wall.png")
    yield "Picture of the pieces"
    render_parts(result.finished.parts, result.finished.pins, f"{result.job.name}: the pieces", folder / "pieces.png")


def _draw_wall(result: JobResult, path: Path) -> None:
    shown = wall_map(result.finished.body)
    least = least_wall(result.job.printer.nozzle)
    x, station = shown.place[0], float(station_of(shown.place))
    lines = [
        f"{result.job.name}: least wall {shown.least_mm:.2f} mm, station {station:+.0f} deg, x {x:+.0f} mm",
        f"rays from {shown.rays:,} facets of the outer face to the next facet; {least:.1f} mm can be printed",
    ]
    render_wall(shown, least, lines, path)


def _clearance(result: JobResult) -> ClearancePicture:
    least = result.tire
    return ClearancePicture(
        skin=result.skin,
        excess=result.excess,
        hardware=hardware_excess(result.hardware),
        profile=result.envelope.profile,
        required_mm=result.limits[0].required_mm,
        lines=(
            f"{result.job.name}: least clearance {least.min_mm:.2f} mm, proven over {least.proven_min_mm:.2f} mm",
            f"required {result.limits[0].required_mm:.2f} mm from the face of the part to the tire at its largest",
        ),
    )
