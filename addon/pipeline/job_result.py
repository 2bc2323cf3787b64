# SPDX-License-Identifier: GPL-3.0-or-later
"""From a cage to finished pieces that are proven to be clear."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..core.base.arrays import Array
from ..core.base.errors import ShapeError
from ..core.base.format_place import format_place
from ..core.base.tolerances import TOLERANCES
from ..core.clearance.clearance_field import ClearanceField, clearance_field
from ..core.clearance.envelope import Envelope, envelope
from ..core.clearance.hardware_clearance import HardwareClearance, hardware_clearances
from ..core.clearance.keepout import MeshBodyMaker, keepout_bodies, shell_remarks
from ..core.clearance.limit import Limit
from ..core.clearance.proof import Proof, proven_clearance
from ..core.clearance.worst_pose import limit_pose
from ..core.coverage.coverage import FenderCoverage, fender_coverage
from ..core.job.job_sheet import Job
from ..core.lines.lines_report import MatchedLine, matched_lines
from ..core.mesh.open_surface import surface_of_quads
from ..core.mesh.triangle_mesh import TriangleMesh, joined
from ..core.metal.metal_faces import metal_job
from ..core.metal.metal_part import MetalPart, metal_part
from ..core.pieces.bolt_remarks import reach_remarks
from ..core.pieces.joint import lap_remarks
from ..core.pieces.wall_hardware import wall_hardware
from ..core.printing.print_fit import PrintFit
from ..core.printing.print_pick import picked_plans
from ..core.printing.print_plan import PrintPlan, print_plan
from ..core.printing.print_scale import scale_3mf
from ..core.report.report import LimitProof
from ..core.seat.mount import mount_frame
from ..core.shaping.fine_clear import MOST_MISSING_MM, fine_clear
from ..core.skin.cage import Cage
from ..core.skin.skin import Skin, full_skin, skin
from ..core.skin.skin_stencil import skin_stencil
from ..core.trim.trimmed import trimmed
from ..core.wall.job_wall import wall_at_cut
from .finish import Finished, finish_steps
from .laminated import Laminated, ProvenPart, laminated_steps, proven_part_steps, refuse_unclear_laminate
from .steps import Steps, run_steps

Progress = Callable[[str], None]
"""Told what is done next, in a few words."""


@dataclass(frozen=True, eq=False)
class JobResult:
    """A finished job.

    skin : the whole skin; excess : (n,) float, mm over what is required at its points
    tire : least clearance of all pieces to the tire at its largest, where it stands; limits : to every limit, with its motion
    hardware : of each head and nut the limit that it is nearest to, for what is required
    plans : how each piece may be printed, with the picked way; nudged_mm : how far the cage was moved to be clear between its samples too
    remarks : what the builder must be told of the bolts; laminated : the part that follows the print, None where none is planned
    metal : the same in sheet metal, None where none is planned
    """

    job: Job
    cage: Cage
    envelope: Envelope
    skin: Skin
    excess: Array
    finished: Finished
    tire: Proof
    limits: tuple[LimitProof, ...]
    hardware: tuple[HardwareClearance, ...]
    plans: tuple[PrintPlan, ...]
    nudged_mm: float
    remarks: tuple[str, ...]
    laminated: Laminated | None
    metal: MetalPart | None

    @cached_property
    def lines(self) -> tuple[MatchedLine, ...]:
        """The lines of the bike beside the fender's. Raises JobError if one never comes near, CageError if the cage is no half."""
        if not self.job.bike_lines:
            return ()
        return matched_lines(self.job, self.cage, skin_stencil(self.cage.topology, self.job.cage.level))

    @cached_property
    def coverage(self) -> FenderCoverage:
        """How much of the tire is covered, and what spray does."""
        return fender_coverage(self.job, self.finished.whole)

    @property
    def fits(self) -> tuple[PrintFit, ...]:
        """How each piece lies on the bed, as picked."""
        return tuple(plan.option.fit for plan in self.plans)


class Timings:
    """Seconds of each step."""

    def __init__(self, progress: Progress) -> None:
        self.seconds: dict[str, float] = {}
        self._progress = progress

    @contextmanager
    def step(self, name: str, said: str) -> Iterator[str]:
        """Tell what is done, and take its time; hands on what was said."""
        self._progress(said)
        start = time.perf_counter()
        yield said
        self.seconds[name] = self.seconds.get(name, 0.0) + time.perf_counter() - start


def make_job(
    job: Job,
    cage: Cage,
    timings: Timings,
    *,
    field: ClearanceField | None = None,
    mesh_body: MeshBodyMaker | None = None,
) -> JobResult:
    """Skin, wall, holes, split, proof and bed fit of a cage, at once; see job_steps."""
    return run_steps(job_steps(job, cage, timings, field=field, mesh_body=mesh_body))


def job_steps(
    job: Job,
    cage: Cage,
    timings: Timings,
    *,
    field: ClearanceField | None = None,
    mesh_body: MeshBodyMaker | None = None,
) -> Steps[JobResult]:
    """Skin, wall, holes, split, proof and bed fit of a cage.

    field : what the skin was kept clear of; None for the job's own
    Raises CageError, JobError or ShapeError with a sentence if the part cannot be made or is not clear.
    """
    field = field or clearance_field(job, mesh_body=mesh_body)
    made = yield from _made_steps(job, cage, field, timings, mesh_body)
    for slack in _SLACKS_MM:
        # between its samples the skin came a little too near; more is asked of them
        tighter = _tighter(field, made.all_limits, slack)
        if tighter is None:
            break
        made = yield from _made_steps(job, cage, tighter, timings, mesh_body)
    _refuse_unclear(made.limits)
    _refuse_unclear_hardware(made.hardware)
    laminated = None
    if job.laminate is not None and made.laminated is not None:
        refuse_unclear_laminate(job, made.laminated.limits)
        with timings.step("laminate", "Plug or buck of the laminated part") as said:
            yield said
            laminated = yield from laminated_steps(job, job.laminate, made.laminated, made.skin, made.cage, mesh_body)
    keepouts = keepout_bodies(job, mesh_body)
    remarks = (
        *_paint_remarks(job, cage),
        *made.finished.remarks,
        *lap_remarks(made.finished.joint, wall_at_cut(job)),
        *reach_remarks(made.finished.reach, keepouts),
        *shell_remarks(keepouts),
    )
    with timings.step("bed", "Place on the printer's bed") as said:
        yield said
        plans = _plans(made.finished, job)
    metal = None
    if job.metal is not None:
        with timings.step("metal", "The same shape in sheet metal, and its buck") as said:
            yield said
            metal = _metal(job, made.skin, mesh_body)
    excess = field.excess(made.skin.points)
    return JobResult(
        job=job,
        cage=made.cage,
        envelope=made.envelope,
        skin=made.skin,
        excess=excess,
        finished=made.finished,
        tire=made.tire,
        limits=made.limits,
        hardware=made.hardware,
        plans=plans,
        nudged_mm=made.nudged_mm,
        remarks=remarks,
        laminated=laminated,
        metal=metal,
    )


def _metal(job: Job, whole: Skin, mesh_body: MeshBodyMaker | None) -> MetalPart:
    plain = metal_job(job)
    surface = trimmed(plain, surface_of_quads(whole.points, whole.normals, whole.quads), mesh_body)
    return metal_part(plain, surface, clearance_field(job, "part", mesh_body=mesh_body).limits)


@dataclass(frozen=True, eq=False)
class _Made:
    """What a cage became, and how clear it is; see JobResult."""

    cage: Cage
    nudged_mm: float
    skin: Skin
    finished: Finished
    envelope: Envelope
    tire: Proof
    limits: tuple[LimitProof, ...]
    hardware: tuple[HardwareClearance, ...]
    laminated: ProvenPart | None

    @property
    def all_limits(self) -> tuple[LimitProof, ...]:
        """Of the print and of the laminated part."""
        return (*self.limits, *(self.laminated.limits if self.laminated is not None else ()))


def _made_steps(job: Job, cage: Cage, field: ClearanceField, timings: Timings, mesh_body: MeshBodyMaker | None) -> Steps[_Made]:
    """Skin, wall, holes and split of a cage that is kept clear of a field, and the proof on the triangles."""
    with timings.step("skin", "Skin of the cage") as said:
        yield said
        fine = skin_stencil(cage.topology, _level(cage, 5, _MOST_CHECKED_POINTS))
        cage, nudged = fine_clear(cage, fine, field)
        whole = full_skin(skin(cage, skin_stencil(cage.topology, _level(cage, max(job.cage.level, 4), _MOST_SKIN_POINTS))))
    with timings.step("solid", f"Trim, wall of {job.wall.thickness:g} mm, seat, holes and split") as said:
        yield said
        sheet = trimmed(job, surface_of_quads(whole.points, whole.normals, whole.quads, whole.paint), mesh_body)
        finished = yield from finish_steps(job, sheet, mount_frame(job))
    with timings.step("proof", "Proof of the clearance on the triangles") as said:
        yield said
        everything = joined([part.mesh for part in finished.parts])
        around = envelope(job)
        tire = _proof(everything, around.wheel)
        of_part = clearance_field(job, "part", mesh_body=mesh_body).limits
        limits = tuple(
            _limit_proof(limit, tire if limit.body is around.wheel else _proof(everything, limit.body)) for limit in of_part
        )
        hardware = hardware_clearances(wall_hardware(finished.body, finished.seats), of_part)
    laminated = None
    if job.laminate is not None:
        with timings.step("laminate", "The laminated part") as said:
            yield said
            laminated = yield from proven_part_steps(job, job.laminate, sheet, mount_frame(job), of_part)
    return _Made(cage, nudged, whole, finished, around, tire, limits, hardware, laminated)


_MOST_SKIN_POINTS = 30_000
_MOST_CHECKED_POINTS = 120_000
"""Of the skin that the wall is made from, fine enough for its facets to be halved by cubics, and of the one that is checked."""


def _level(cage: Cage, wanted: int, most_points: int) -> int:
    """The wanted level, or a lower one if its skin has too many points."""
    level = wanted
    while level > 3 and cage.topology.face_count * 4**level > most_points:
        level -= 1
    return level


def _paint_remarks(job: Job, cage: Cage) -> Iterator[str]:
    """What of the painted wall has no effect."""
    if cage.paint is not None and job.wall.painted_thickness is None:
        yield "The cage is painted, but wall.painted_thickness is left out, so that the paint has no effect."
    if cage.paint is None and job.wall.painted_thickness is not None:
        yield (
            f"wall.painted_thickness is {job.wall.painted_thickness:g} mm, but nothing of the cage is painted, so that it has no "
            "effect on the wall."
        )


def _limit_proof(limit: Limit, proof: Proof) -> LimitProof:
    return LimitProof(limit.name, limit.required_mm, proof, pose=limit_pose(proof.point, limit))


def _proof(mesh: TriangleMesh, body: object) -> Proof:
    return proven_clearance(mesh.vertices, mesh.triangles, body)  # type: ignore[arg-type]


_SLACKS_MM = (0.0, 0.3)
"""Asked for beside what is missing: nothing first, then what an edge of a body can hide between samples."""


def _tighter(field: ClearanceField, limits: tuple[LimitProof, ...], slack: float) -> ClearanceField | None:
    """The field with what the proof found to be missing asked for too; None if nothing is, or more than samples leave."""
    missing: dict[str, float] = {}
    for limit in limits:
        missing[limit.name] = max(missing.get(limit.name, 0.0), limit.required_mm - limit.proof.min_mm)
    short = [limit for limit in field.limits if missing.get(limit.name, 0.0) > TOLERANCES.chord]
    if not short or max(missing.values()) > MOST_MISSING_MM:
        return None
    return ClearanceField(
        [
            replace(each, required_mm=each.required_mm + missing[each.name] + slack) if each in short else each
            for each in field.limits
        ]
    )


def _refuse_unclear(limits: tuple[LimitProof, ...]) -> None:
    for limit in limits:
        missing = limit.required_mm - limit.proof.min_mm
        if missing > TOLERANCES.chord:
            raise ShapeError(
                f"the part comes within {limit.proof.min_mm:.2f} mm of the {limit.name} {format_place(limit.proof.point)}, "
                f"{limit.required_mm:.2f} mm are required; restore the clearance of the cage there first",
                limit.proof.point,
            )


def _refuse_unclear_hardware(hardware: tuple[HardwareClearance, ...]) -> None:
    for each in hardware:
        if each.excess_mm < -TOLERANCES.chord:
            raise ShapeError(
                f"the {each.hardware.name} comes within {each.proof.min_mm:.2f} mm of the {each.limit.name} "
                f"{format_place(each.proof.point)}, {each.limit.required_mm:.2f} mm are required; raise the seat, or sink the screws by "
                "another hardware",
                each.proof.point,
            )


def _plans(finished: Finished, job: Job) -> tuple[PrintPlan, ...]:
    frame = mount_frame(job)
    return picked_plans([print_plan(part.name, part.mesh, job, frame) for part in finished.parts], job.lays)


def placements(result: JobResult, apart: float = 10.0) -> list[Array]:
    """(4, 4) placement of each piece on the bed: printed upward, at z = 0, side by side along x, mm; scaled if the sheet asks."""
    placed, next_x, scale = [], 0.0, scale_3mf(result.job)
    for part, fit in zip(result.finished.parts, result.fits, strict=True):
        turned = scale * part.mesh.vertices @ fit.rotation.T
        low = turned.min(axis=0)
        placement = np.eye(4)
        placement[:3, :3] = scale * fit.rotation
        placement[:3, 3] = np.array([next_x, 0.0, 0.0]) - low
        placed.append(placement)
        next_x += float(np.ptp(turned[:, 0])) + apart
    return placed
