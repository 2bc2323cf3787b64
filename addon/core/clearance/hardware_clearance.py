# SPDX-License-Identifier: GPL-3.0-or-later
"""What heads, washers and nuts keep from the tire and from what moves: the same clearance as the fender."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ..base.arrays import Array
from ..base.tolerances import TOLERANCES
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
        best: HardwareClearance | None = None
        middle = item.mesh.vertices.mean(axis=0)
        reach = float(np.linalg.norm(item.mesh.vertices - middle, axis=1).max())
        for limit in limits:
            if _counts(item, limit) and not _is_farther(limit, middle, reach, best):
                each = HardwareClearance(item, limit, _proof(item.mesh, limit.body))
                best = each if best is None or each.excess_mm < best.excess_mm else best
        found += [] if best is None else [best]
    return tuple(found)


def _is_farther(limit: Limit, middle: Array, reach: float, best: HardwareClearance | None) -> bool:
    """True if what lies within reach of a middle (3,) has more excess over a limit than the best, as a bound shows."""
    return best is not None and float(limit.body.distance(middle[None])[0]) - reach - limit.required_mm > best.excess_mm


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
    """Of a body that is not convex in coarser steps, since flat faces over it must be cut very small; there the bound counts."""
    if body.convex:
        return _known_proof(mesh, body)  # type: ignore[arg-type]
    proof = proven_clearance(mesh.vertices, mesh.triangles, body, TOLERANCES.turned_proof)
    return replace(proof, min_mm=proof.proven_min_mm)


@lru_cache(maxsize=256)
def _known_proof(mesh: TriangleMesh, body: Body) -> Proof:
    """As kept for these very objects, for when another body moves."""
    return proven_clearance(mesh.vertices, mesh.triangles, body)
