# SPDX-License-Identifier: GPL-3.0-or-later
"""What is trimmed, in words."""

from __future__ import annotations

from ..job.job_sheet import Job


def trim_words(job: Job) -> str:
    """One line with every tip, line, scallop and opening of a job; empty where nothing is trimmed."""
    radii = (("front", job.trim.front_radius), ("rear", job.trim.rear_radius))
    said = [f"{end} tip radius {radius:g}" for end, radius in radii if radius is not None]
    said += [
        f'line "{line.name}" in {line.view} view' if line.view != "drop" else f'line "{line.name}"' for line in job.trim_lines
    ]
    said += [f"scallop round {body.name}" for body in job.keepouts if body.scallop is not None]
    for opening in job.openings:
        sides = ", both sides" if opening.sides == "both" else ""
        place = f"{opening.station:+g} deg, x {opening.x:+g}"
        said.append(f'opening "{opening.name}" {opening.length:g} x {opening.width:g} at {place}{sides}')
    return "; ".join(said)
