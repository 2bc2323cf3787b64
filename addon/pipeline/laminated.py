# SPDX-License-Identifier: GPL-3.0-or-later
"""From the trimmed skin to the laminated part: its clearance, its schedule, how it leaves the mold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..core.base.errors import JobError
from ..core.base.format_place import format_place
from ..core.base.tolerances import TOLERANCES
from ..core.clearance.clearance_field import TIRE, Limit
from ..core.clearance.proof import Proof, proven_clearance
from ..core.job.job_sheet import Job, Laminate
from ..core.laminate.laminated_part import check_bends, laminated_part, part_schedule
from ..core.mesh.open_surface import Surface
from ..core.plies.schedule import Schedule
from ..core.report.report import LimitProof
from ..core.seat.mount import MountFrame
from ..core.seat.placed_seat import placed_seats
from ..core.wall.closed_wall import ClosedWall
from ..core.wall.job_laminate import laminate_mm
from .steps import Steps


@dataclass(frozen=True, eq=False)
class Laminated:
    """The laminated part of a job.

    wall : the part itself; limits : its least clearance to every limit, the tire at its largest first; schedule : what it takes
    """

    wall: ClosedWall
    limits: tuple[LimitProof, ...]
    schedule: Schedule

    @property
    def tire(self) -> LimitProof:
        """Clearance to the tire."""
        return next(limit for limit in self.limits if limit.name == TIRE)


def laminated_steps(
    job: Job, laminate: Laminate, surface: Surface, frame: MountFrame, limits: Sequence[Limit]
) -> Steps[Laminated]:
    """The laminated part of a job.

    laminate : of the job; surface : the trimmed skin; limits : what the part is to be clear of
    Raises JobError or ShapeError with a sentence where the part cannot be laminated.
    """
    seats = [placed.seat for placed in placed_seats(job, frame, surface)]
    wall = laminated_part(job, surface, seats)
    check_bends(wall, laminate)
    yield "Clearance of the laminated part"
    proofs = tuple(LimitProof(limit.name, limit.required_mm, _proof(wall, limit)) for limit in limits)
    return Laminated(wall, proofs, part_schedule(laminate, wall))


def _proof(wall: ClosedWall, limit: Limit) -> Proof:
    return proven_clearance(wall.mesh.vertices, wall.mesh.triangles, limit.body)


def refuse_unclear_laminate(job: Job, limits: Sequence[LimitProof]) -> None:
    """Raise JobError, with the place, if the laminated part comes too near to a limit."""
    for limit in limits:
        if limit.required_mm - limit.proof.min_mm > TOLERANCES.chord:
            raise JobError(
                "laminate.plies",
                f"make a part of {laminate_mm(job):.2f} mm that comes within {limit.proof.min_mm:.2f} mm of the {limit.name} "
                f"{format_place(limit.proof.point)}, {limit.required_mm:.2f} mm are required; take fewer or thinner plies, or restore "
                "the clearance of the cage there",
                limit.proof.point,
            )
