# SPDX-License-Identifier: GPL-3.0-or-later
"""What heads, washers and nuts keep from the tire and from what moves: the same clearance as the fender."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..bodies.body import Body
from ..job.job_sheet import Job
from ..mesh.triangle_mesh import TriangleMesh, joined
from ..seat.hardware import Hardware, seat_hardware
from ..seat.mount import MountFrame
from ..seat.placed_seat import placed_mount, stated_seats
from ..wall.job_laminate import laminate_mm
from .limit import TIRE, Limit
from .motion import Pose
from .proof import Proof, proven_clearance
from .worst_pose import limit_pose


@dataclass(frozen=True, eq=False)
class HardwareClearance:
    """The limit that a piece of hardware has the least excess over, and its least distance to it."""

    hardware: Hardware
    limit: Limit
    proof: Proof

    @property
    def name(self) -> str:
        """As lists name it, such as "tire, from the screw head of bolt 2"."""
        return f"{self.limit.name}, from the {self.hardware.name}"

    @property
    def pose(self) -> Pose | None:
        """At which the least distance is; None if the limit does not move."""
        return limit_pose(self.proof.point, self.limit)

    @property
    def excess_mm(self) -> float:
        """Over what is required."""
        return self.proof.min_mm - self.limit.required_mm


def stated_hardware(job: Job, frame: MountFrame) -> tuple[Hardware, ...]:
    """All hardware where the sheet puts it, on a wall or laminate of its plain thickness; on a solid pad it stands deeper.

    Raises JobError where the hardware of a seat does not go together.
    """
    grip = max(job.wall.thickness, laminate_mm(job))
    return tuple(
        item
        for placed in (placed_mount(job, frame), *stated_seats(job))
        for item in seat_hardware(placed, [grip] * len(placed.seat.bolts), grip)
    )


def hardware_clearances(hardware: Sequence[Hardware], limits: Sequence[Limit]) -> tuple[HardwareClearance, ...]:
    """Of each piece of hardware the limit that it is nearest to, for what is required; none where it looks away from all.

    limits : as the part has them. Hardware keeps from the tire if it stands out of its face toward it, else the wall is nearer; on
    the fender it keeps from all else but what the fender is bolted to, on a bracket from what moves.
    """
    found = []
    for item in hardware:
        near = [HardwareClearance(item, limit, _proof(item.mesh, limit.body)) for limit in limits if _counts(item, limit)]
        if near:
            found.append(min(near, key=lambda each: each.excess_mm))
    return tuple(found)


def hardware_excess(clearances: Sequence[HardwareClearance]) -> tuple[TriangleMesh, Array]:
    """The hardware as one mesh, and at each of its vertices (n,) the excess over the limit that its piece is nearest to, mm."""
    if not clearances:
        return TriangleMesh(np.zeros((0, 3)), np.zeros((0, 3), np.int64)), np.zeros(0)
    meshes = [each.hardware.mesh for each in clearances]
    values = [each.limit.body.distance(each.hardware.mesh.vertices) - each.limit.required_mm for each in clearances]
    return joined(meshes), np.concatenate(values)


def _counts(item: Hardware, limit: Limit) -> bool:
    if limit.bears:
        return False
    if limit.name == TIRE:
        return points_toward(item, limit.body)
    return item.on_fender or limit.moves


def points_toward(item: Hardware, body: Body) -> bool:
    """True if hardware stands out of its face toward a body."""
    middle: Array = item.mesh.vertices.mean(axis=0)[None]
    return float(body.distance_and_gradient(middle)[1][0] @ item.axis) < 0.0


def _proof(mesh: TriangleMesh, body: Body) -> Proof:
    return proven_clearance(mesh.vertices, mesh.triangles, body)
