# SPDX-License-Identifier: GPL-3.0-or-later
"""The stiffness of a job's fender, and the flex that its budget counts."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from ..core.base.arrays import Array
from ..core.base.errors import JobError
from ..core.clearance.keepout import MeshBodyMaker
from ..core.job.job_sheet import Job
from ..core.printing.print_plan import PrintPlan
from ..core.skin.cage import Cage
from ..core.stiffness.fender_stiffness import FenderStiffness, fender_stiffness
from ..core.stiffness.job_material import print_material, strength_across_layers, top_speed_kmh
from ..core.stiffness.support import bolt_supports
from ..core.tables.stiffness_rules import HAND_PUSH_N
from .cage_wall import cage_wall
from .finish import Finished
from .piece import Part

MOST_FLEX_MM = 50.0
"""More is no fender, and no sheet may state it."""
_MOST_ROUNDS = 5
_SAMPLES = 1500
"""Points of a piece that are asked which piece is nearest."""


def printed_stiffness(job: Job, finished: Finished, plans: tuple[PrintPlan, ...]) -> FenderStiffness:
    """Stiffness of the finished print, whole: joints are taken to hold as the wall does. Raises ShapeError with a sentence."""
    ups = [plan.option.fit.rotation[2] for plan in plans]

    def up_at(points: Array) -> Array:
        return np.asarray(np.array(ups)[_nearest_piece(points, finished.parts)])

    strength = (strength_across_layers(job), up_at)
    return fender_stiffness(finished.body, bolt_supports(finished.seats), print_material(job), strength, top_speed_kmh(job))


def flex_of_cage(job: Job, cage: Cage, mesh_body: MeshBodyMaker | None = None) -> float:
    """How far the print of a cage comes toward the wheel under a hand or in the wind, mm, up to the next tenth.

    Raises CageError, JobError or ShapeError with a sentence, JobError if it is more than MOST_FLEX_MM.
    """
    wall, placed = cage_wall(job, cage, mesh_body)
    made = fender_stiffness(
        wall, bolt_supports(placed), print_material(job), (strength_across_layers(job), None), top_speed_kmh(job)
    )
    if made.flex_mm > MOST_FLEX_MM:
        raise JobError(
            "clearance.flex",
            f"is not stated, and the fender gives way by {made.flex_mm:.0f} mm when pushed with {HAND_PUSH_N:g} N or in the wind; make "
            "the wall thicker, add ribs or a further seat, or state it",
        )
    return math.ceil(10.0 * made.flex_mm) / 10.0


def with_computed_flex(job: Job, cage_of: Callable[[Job], Cage], mesh_body: MeshBodyMaker | None = None) -> Job:
    """The job with the flex that its own fender has; the job itself if its sheet states one.

    cage_of : the cage for a job, which hangs on its budget. A fender that flexes more must stand off farther, and flexes a little
    more then: rounds go on until what is counted is no less than what comes out.
    Raises as flex_of_cage does, and JobError if that never happens.
    """
    if job.clearance.flex is not None:
        return job
    for _ in range(_MOST_ROUNDS):
        flex = flex_of_cage(job, cage_of(job), mesh_body)
        if job.computed_flex is not None and flex <= job.computed_flex:
            return job
        job = replace(job, computed_flex=flex)
    raise JobError("clearance.flex", f"is not stated, and what comes out grows on, to {flex:.1f} mm; state it")


def _nearest_piece(points: Array, parts: tuple[Part, ...]) -> Array:
    """(m,) number of the piece that each point is nearest to."""
    away = []
    for part in parts:
        some = part.mesh.vertices[:: max(1, len(part.mesh.vertices) // _SAMPLES)]
        squares = np.square(points).sum(axis=1)[:, None] - 2.0 * points @ some.T + np.square(some).sum(axis=1)
        away.append(squares.min(axis=1))
    return np.argmin(away, axis=0)
