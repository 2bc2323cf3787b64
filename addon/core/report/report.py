# SPDX-License-Identifier: GPL-3.0-or-later
"""What report.json says of a finished job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..base.arrays import Array
from ..base.wheel_axes import station_of
from ..clearance.budget import budget
from ..clearance.budget_options import budget_options
from ..clearance.motion import Pose
from ..clearance.proof import Proof
from ..clearance.worst_pose import pose_words
from ..job.job_sheet import Job, job_to_dict
from ..wall.edge_plan import edge_names
from ..wall.job_edges import job_edges
from ..wall.job_wall import thinnest
from ..wall.rim_check import RimStats
from ..wall.rim_profile import RimEdge
from ..wall.wall_check import WallStats
from .cautions import cautions


@dataclass(frozen=True, eq=False)
class LimitProof:
    """Least clearance to one limit: of all pieces, or of the hardware at a bolt.

    required_mm : what the part's surface must keep; seat, bolt : section of the sheet and number from 1, None for the pieces
    pose : of the bike at which it is least, None if the limit does not move
    """

    name: str
    required_mm: float
    proof: Proof
    seat: str | None = None
    bolt: int | None = None
    pose: Pose | None = None


@dataclass(frozen=True, eq=False)
class PieceReport:
    """A piece as it was written. size_mm : extents in wheel axes; print_size_mm : in print position."""

    file: str
    closed: bool
    volume_mm3: float
    size_mm: Array
    print_size_mm: Array
    fits_bed: bool
    mass_g: float


def job_report(
    job: Job,
    profile: Array,
    tire: Proof,
    limits: Sequence[LimitProof],
    wall: WallStats,
    rim: RimStats,
    pieces: Sequence[PieceReport],
    remarks: Sequence[str],
    timings_s: Mapping[str, float],
) -> dict[str, Any]:
    """The report as JSON holds it.

    profile : (m, 2) float, the tire at its largest; tire : least clearance of all pieces to it
    limits : the same for every limit with its motion; remarks : cautions of this result, besides those of the job
    """
    sums = budget(job)
    return {
        "name": job.name,
        "clearance": {
            "required_mm": _round(sums.required_mm),
            "min_mm": _round(tire.min_mm),
            "proven_min_mm": _round(tire.proven_min_mm),
            "at": _place(tire.point),
            "limits": [
                {
                    "name": limit.name,
                    "required_mm": _round(limit.required_mm),
                    "min_mm": _round(limit.proof.min_mm),
                    "proven_min_mm": _round(limit.proof.proven_min_mm),
                    "at": _place(limit.proof.point),
                    **({} if limit.bolt is None else {"seat": limit.seat, "bolt": limit.bolt}),
                    **({} if limit.pose is None else {"pose": _pose(limit.pose)}),
                }
                for limit in limits
            ],
        },
        "envelope": {"profile": [[_round(x, 6), _round(rho, 6)] for x, rho in profile]},
        "budget": [
            {"name": line.name, "mm": _round(line.mm), "basis": line.basis, "note": line.note, "direction": line.direction}
            for line in sums.lines
        ],
        "budget_sum": {
            "worst_case_mm": _round(sums.worst_case_mm),
            "root_sum_square_mm": _round(sums.root_sum_square_mm),
            "lateral_worst_case_mm": _round(sums.lateral_worst_case_mm),
            "used": sums.used,
            "required_worst_mm": _round(sums.required_worst_mm),
            "required_squares_mm": _round(sums.required_squares_mm),
            "options": [
                {"name": option.name, "saves_mm": _round(option.saves_mm, 2), "price": option.price}
                for option in budget_options(job)
            ],
        },
        "wall": {
            "nominal_mm": _round(wall.nominal),
            "p1_mm": _round(wall.p1),
            "p99_mm": _round(wall.p99),
            "min_mm": _round(wall.min),
            "max_mm": _round(wall.max),
            "asked_min_mm": _round(wall.asked_min),
            "off_asked_p99": _round(wall.off, 5),
            "thinnest_at": _place(wall.thinnest),
        },
        "edges": {
            **{name: {"kind": edge.kind, "radius_mm": _round(edge.radius(mm))} for name, edge, mm in _edges(job)},
            "least_radius_mm": _round(rim.least_radius),
            "least_radius_at": _place(rim.place),
        },
        "halves": [
            {
                "file": piece.file,
                "closed": piece.closed,
                "volume_mm3": _round(piece.volume_mm3, 1),
                "size_mm": [_round(value, 2) for value in piece.size_mm],
                "print_size_mm": [_round(value, 2) for value in piece.print_size_mm],
                "fits_bed": piece.fits_bed,
                "mass_g": _round(piece.mass_g, 1),
            }
            for piece in pieces
        ],
        "cautions": [*cautions(job), *remarks],
        "timings_s": {step: _round(seconds, 3) for step, seconds in timings_s.items()},
        "job": job_to_dict(job),
    }


def _edges(job: Job) -> tuple[tuple[str, RimEdge, float], ...]:
    """Name and rim of each edge, and the thinnest wall that it closes, mm."""
    wall, least = job.wall, thinnest(job)
    walls = (wall.front_thickness or wall.thickness, wall.rear_thickness or wall.thickness, least, least)
    return tuple(zip(edge_names(), job_edges(job).edges, walls, strict=True))


def _pose(pose: Pose) -> dict[str, float | str]:
    return {"travel_mm": _round(pose.travel_mm, 2), "steering_deg": _round(pose.steering_deg, 2), "words": pose_words(pose)}


def _place(point: Array) -> dict[str, float]:
    return {"station_deg": _round(float(station_of(np.asarray(point))), 2), "x_mm": _round(float(point[0]), 2)}


def _round(value: float, digits: int = 4) -> float:
    return round(float(value), digits)
