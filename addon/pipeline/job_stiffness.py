# SPDX-License-Identifier: GPL-3.0-or-later
"""The stiffness of a job's fender, and the flex that its budget counts."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from ..core.base.arrays import Array, Index
from ..core.base.errors import JobError
from ..core.clearance.keepout import MeshBodyMaker
from ..core.job.job_sheet import Job
from ..core.laminate.laminated_part import laminated_part
from ..core.report.check_job import check_job
from ..core.seat.mount import mount_frame
from ..core.seat.placed_seat import placed_seats
from ..core.skin.cage import Cage
from ..core.stiffness.fender_stiffness import FenderStiffness, fender_stiffness, wall_flex
from ..core.stiffness.job_material import print_material, strength_across_layers, top_speed_kmh
from ..core.stiffness.laminate_material import laminate_material
from ..core.stiffness.stiffness_report import JobStiffness
from ..core.stiffness.support import Support, bolt_supports
from ..core.wall.closed_wall import ClosedWall
from .cage_wall import cage_surface, seated_wall
from .job_result import JobResult
from .piece import Part
from .steps import Steps

MOST_FLEX_MM = 50.0
"""More is not counted, nor may a sheet state it."""
FLEX_MARGIN = 1.1
"""Half as many triangles as the report takes make a fender stiffer by up to a tenth; see its change_from_half."""
MOST_ROUNDS = 5
"""Of counting flex, moving the cage, and computing anew; two are usual."""
MOST_SPARE_MM = 0.3
"""More than comes out may stay counted, mm."""
_SAMPLES = 1500
"""Points of a piece that are asked which piece is nearest."""


def job_stiffness_steps(result: JobResult) -> Steps[JobStiffness]:
    """Stiffness of the finished print, whole, and of the laminated part; joints are taken to hold as the wall does.

    Raises ShapeError with a sentence.
    """
    job, finished = result.job, result.finished
    supports = bolt_supports(finished.seats)
    yield "Stiffness of the print"
    printed = _printed(job, finished.body, supports, lambda points: _ups(points, result))
    if job.laminate is None or result.laminated is None:
        return JobStiffness(printed, None)
    yield "Stiffness of the laminate"
    return JobStiffness(printed, _laminated(job, result.laminated.part.wall, supports))


def flex_of_cage(job: Job, cage: Cage, mesh_body: MeshBodyMaker | None = None) -> float:
    """How far the part of a cage comes toward the wheel under a hand or in the wind, mm, up to the next tenth.

    It is the laminated part where one is planned, else the print. Fewer triangles do, with a margin for what they leave out.
    Raises CageError, JobError or ShapeError with a sentence.
    """
    surface = cage_surface(job, cage, mesh_body)
    placed = placed_seats(job, mount_frame(job), surface)
    if job.laminate is None:
        wall, material = seated_wall(job, surface, placed), print_material(job)
    else:
        wall = laminated_part(job, surface, [each.seat for each in placed])
        material = laminate_material(job.laminate).elastic
    flex = FLEX_MARGIN * wall_flex(wall, bolt_supports(placed), material, top_speed_kmh(job))
    return math.ceil(10.0 * flex) / 10.0


def with_computed_flex(job: Job, cage_of: Callable[[Job], Cage], mesh_body: MeshBodyMaker | None = None) -> Job:
    """The job with the flex that its own fender has; the job itself if its sheet states one, or if there is no room for it.

    cage_of : the cage for a job, which hangs on its budget. A fender that flexes more must stand off farther, and flexes a little
    more then: rounds go on until what is counted is no less than what comes out. Where there is no room the default stays in the
    budget, and stiffness_cautions tells of it.
    Raises CageError, JobError or ShapeError with a sentence, where the job without a computed flex cannot be made either.
    """
    if job.clearance.flex is not None:
        return job
    counted, cage = job, cage_of(job)
    for _ in range(MOST_ROUNDS):
        flex = flex_of_cage(counted, cage, mesh_body)
        if counted.computed_flex is not None and flex <= counted.computed_flex:
            return counted
        if flex > MOST_FLEX_MM:
            return job
        counted = replace(counted, computed_flex=flex)
        try:
            check_job(counted)
            cage = cage_of(counted)
        except JobError:
            return job
    return job


def _printed(
    job: Job, wall: ClosedWall, supports: tuple[Support, ...], up_at: Callable[[Array], Array] | None
) -> FenderStiffness:
    return fender_stiffness(wall, supports, print_material(job), (strength_across_layers(job), up_at), top_speed_kmh(job))


def _laminated(job: Job, wall: ClosedWall, supports: tuple[Support, ...]) -> FenderStiffness:
    assert job.laminate is not None
    material = laminate_material(job.laminate)
    return fender_stiffness(wall, supports, material.elastic, (material.strength_mpa, None), top_speed_kmh(job))


def _ups(points: Array, result: JobResult) -> Array:
    """(m, 3) which way is up on the printer, for the piece that each point is in."""
    ups = np.array([plan.option.fit.rotation[2] for plan in result.plans])
    return np.asarray(ups[_nearest_piece(points, result.finished.parts)])


def _nearest_piece(points: Array, parts: tuple[Part, ...]) -> Index:
    """(m,) number of the piece that each point is nearest to."""
    away = []
    for part in parts:
        some = part.mesh.vertices[:: max(1, len(part.mesh.vertices) // _SAMPLES)]
        squares = np.square(points).sum(axis=1)[:, None] - 2.0 * points @ some.T + np.square(some).sum(axis=1)
        away.append(squares.min(axis=1))
    return np.argmin(away, axis=0)
