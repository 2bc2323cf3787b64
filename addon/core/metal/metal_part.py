# SPDX-License-Identifier: GPL-3.0-or-later
"""The fender of a job in sheet metal, with all that is cut from wood and card to make it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..base.errors import JobError, ShapeError
from ..base.format_place import format_place
from ..base.tolerances import TOLERANCES
from ..clearance.clearance_field import Limit
from ..drawing.flat_part import FlatPart
from ..job.job_sheet import Job
from ..mesh.open_surface import Surface
from ..tables.shop.sheet_metal import WIRE_ALLOWANCE
from .buck_boards import buck_boards
from .buck_plan import BuckPlan, buck_plan
from .flat_crown import FlatCrown, crown_pattern, flat_crown
from .metal_faces import Bead, MetalFaces, metal_faces, wire_bead
from .profile_templates import profile_templates

_UNDERCUT_MM = 1.0
"""Less than this springs off the buck; our choice."""


@dataclass(frozen=True, eq=False)
class MetalPart:
    """The metal and its buck. bead : None for a plain edge; least_mm : least clearance to the tire at its largest, bead included

    undercut_mm : how far the sides turn in under the widest place; templates : the crown laid flat is the last of them
    """

    faces: MetalFaces
    bead: Bead | None
    plan: BuckPlan
    boards: tuple[FlatPart, ...]
    templates: tuple[FlatPart, ...]
    crown: FlatCrown
    least_mm: float
    undercut_mm: float


def metal_part(job: Job, surface: Surface, limits: Sequence[Limit]) -> MetalPart:
    """The metal part of a job that asks for one.

    job : as metal_job makes it; surface : the whole skin, trimmed for that job; limits : of the part's own surface, the tire first
    Raises JobError or ShapeError, with the place, where metal or bead are not clear, or a buck cannot be made.
    """
    metal = job.metal
    if metal is None:
        raise ValueError("job: its sheet has no section [metal]")
    faces = metal_faces(job, surface)
    bead = wire_bead(faces, metal.sheet, metal.wire, metal.wire_side) if metal.wire > 0.0 else None
    least = _checked_clearance(
        faces, bead, limits, "take thinner wire" + (", or roll it outside" if metal.wire_side == "inside" else "")
    )
    plan = buck_plan(metal, faces, metal.plywood + (0.0 if bead is None else 2.0 * bead.radius))
    crown = flat_crown(faces.inner, faces.triangles, 0.01 * metal.strain)
    return MetalPart(
        faces,
        bead,
        plan,
        buck_boards(metal, plan, faces, bead),
        (*profile_templates(faces, bead, plan.stations_deg), crown_pattern(crown)),
        crown,
        least,
        _undercut(faces),
    )


def metal_report(job: Job, part: MetalPart) -> dict[str, Any]:
    """What report.json says of the metal."""
    metal = job.metal
    assert metal is not None
    return {
        "sheet_mm": metal.sheet,
        "wire_mm": metal.wire,
        "wire_allowance_mm": round(WIRE_ALLOWANCE * metal.wire, 1),
        "min_clearance_mm": round(part.least_mm, 4),
        "boards_across": [
            {"name": board.name, "station_deg": round(station, 2)}
            for board, station in zip(part.boards, part.plan.stations_deg, strict=False)
        ],
        "boards_along": [
            {"name": board.name, "x_mm": round(x, 2)}
            for board, x in zip(part.boards[len(part.plan.stations_deg) :], part.plan.offsets, strict=True)
        ],
        "inner_radius_mm": round(part.plan.inner_radius, 2),
        "flat_crown": {
            "strain_percent": round(100.0 * part.crown.strain, 3),
            "least_width_mm": round(2.0 * float(part.crown.half_width.min()), 1),
            "greatest_width_mm": round(2.0 * float(part.crown.half_width.max()), 1),
        },
        "undercut_mm": round(part.undercut_mm, 2),
    }


def metal_lines(job: Job, part: MetalPart) -> tuple[str, ...]:
    """Sentences for the panel, the build sheet and the papers."""
    metal = job.metal
    assert metal is not None
    lines = [
        f"Sheet of {metal.sheet:g} mm, least clearance to the tire at its largest {part.least_mm:.1f} mm.",
        f"Buck: {len(part.plan.stations_deg)} boards across and {len(part.plan.offsets)} along, plywood of {metal.plywood:g} mm.",
        f"Crown laid flat within {metal.strain:g} %: {2 * part.crown.half_width.min():.0f} to {2 * part.crown.half_width.max():.0f} mm wide.",
    ]
    if metal.wire > 0.0:
        lines.append(
            f"Wire of {metal.wire:g} mm: leave {WIRE_ALLOWANCE * metal.wire:.0f} mm of metal past the edge, {WIRE_ALLOWANCE:g} times "
            "the wire (common practice); the boards are cut out for the bead."
        )
    if part.undercut_mm > _UNDERCUT_MM:
        lines.append(f"The sides turn in by {part.undercut_mm:.1f} mm: take the buck apart to get it out of the fender.")
    return tuple(lines)


def _checked_clearance(faces: MetalFaces, bead: Bead | None, limits: Sequence[Limit], remedy: str) -> float:
    """Least clearance to the first limit; JobError or ShapeError where the metal comes closer than a limit allows.

    remedy : for a bead that does
    """
    points, own = np.concatenate([faces.outer, faces.inner]), np.zeros(2 * len(faces.outer))
    if bead is not None:
        line = np.concatenate(bead.lines)
        points, own = np.concatenate([points, line]), np.concatenate([own, np.full(len(line), bead.radius)])
    least = float("inf")
    for number, limit in enumerate(limits):
        if limit.bears:
            continue
        distance = limit.body.distance(points) - own
        at = int(np.argmin(distance))
        if distance[at] < limit.required_mm - TOLERANCES.chord:
            what = f"comes within {distance[at]:.1f} mm of the {limit.name} {format_place(points[at])}, {limit.required_mm:.1f} mm are required"
            if own[at] > 0.0:
                raise JobError("metal.wire", f"the bead of {2 * own[at]:g} mm {what}; {remedy}", points[at])
            raise ShapeError(f"the sheet metal {what}; take thinner metal or give the skin more room", points[at])
        least = float(distance[at]) if number == 0 else least
    return least


def _undercut(faces: MetalFaces) -> float:
    """How far edges at the sides lie inside of the widest place, mm."""
    widest = float(np.abs(faces.inner[:, 0]).max())
    return widest - max(float(np.abs(edge[:, 0]).max()) for edge in faces.edges)
