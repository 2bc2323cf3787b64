# SPDX-License-Identifier: GPL-3.0-or-later
"""From the trimmed skin to the laminated part: its clearance, its schedule, how it leaves the mold, what is printed for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ..core.base.errors import JobError, ShapeError
from ..core.base.format_place import format_place
from ..core.base.tolerances import TOLERANCES
from ..core.clearance.clearance_field import TIRE, Limit, clearance_field
from ..core.clearance.keepout import MeshBodyMaker
from ..core.clearance.proof import Proof, proven_clearance
from ..core.cloth.ply_patterns import PlyPatterns, ply_patterns
from ..core.job.job_sheet import Job, Laminate
from ..core.laminate.laminated_part import check_bends, laminated_part, part_schedule
from ..core.laminate.mold_drafts import PieceDraft, draft_remarks, mold_drafts, pulls_at
from ..core.laminate.mold_shape import edged_part, mold_shells, touched_face
from ..core.mesh.cut_surface import cut_surface
from ..core.mesh.open_surface import Surface, surface_of_quads
from ..core.plies.schedule import Schedule
from ..core.report.report import LimitProof
from ..core.seat.mount import MountFrame
from ..core.seat.placed_seat import placed_seats
from ..core.seat.seat import Seat
from ..core.seat.seat_offset import wall_shares
from ..core.shaping.open_draft import open_draft
from ..core.skin.cage import Cage
from ..core.skin.skin import Skin, full_skin
from ..core.skin.skin import skin as skin_of
from ..core.skin.skin_stencil import skin_stencil
from ..core.tables.mold_rules import FAIL_DRAFT_DEG, OPENED_DRAFT_DEG
from ..core.trim.job_trim import trim_field
from ..core.trim.trimmed import trimmed
from ..core.wall.closed_wall import ClosedWall
from ..core.wall.job_laminate import laminate_mm
from .laminate_solids import LaminateSolid, laminate_solid_steps
from .steps import Steps


@dataclass(frozen=True, eq=False)
class ProvenPart:
    """The laminated part of a job, and its least clearance to every limit. seats : of the job"""

    wall: ClosedWall
    limits: tuple[LimitProof, ...]
    seats: tuple[Seat, ...]


@dataclass(frozen=True, eq=False)
class Laminated:
    """The laminated part of a job with all that it takes.

    part : itself; schedule : what it takes; face : that lies on mold or buck; drafts : how the pieces of the mold leave it
    solids : plug or buck, and the mold if it is printed, in pieces; patterns : of the plies, laid flat, None where they cannot be
    remarks : what the builder must be told
    """

    part: ProvenPart
    schedule: Schedule
    face: Surface
    drafts: tuple[PieceDraft, ...]
    solids: tuple[LaminateSolid, ...]
    patterns: PlyPatterns | None
    remarks: tuple[str, ...]

    @property
    def tire(self) -> LimitProof:
        """Clearance of the part to the tire at its largest."""
        return next(limit for limit in self.part.limits if limit.name == TIRE)


def proven_part_steps(
    job: Job, laminate: Laminate, surface: Surface, frame: MountFrame, limits: Sequence[Limit]
) -> Steps[ProvenPart]:
    """The laminated part of a job, and its clearance.

    laminate : of the job; surface : the trimmed skin; limits : what the part is to be clear of
    Raises JobError or ShapeError with a sentence where the part cannot be laminated.
    """
    seats = tuple(placed.seat for placed in placed_seats(job, frame, surface))
    wall = laminated_part(job, surface, seats)
    check_bends(wall, laminate)
    if laminate.edge != "trim":
        wall = edged_part(wall, laminate, mold_drafts(touched_face(wall, laminate), laminate)[0].draft.pull, job.wall.thickness)
    yield "Clearance of the laminated part"
    proofs = tuple(LimitProof(limit.name, limit.required_mm, _proof(wall, limit)) for limit in limits)
    return ProvenPart(wall, proofs, seats)


def _proof(wall: ClosedWall, limit: Limit) -> Proof:
    return proven_clearance(wall.mesh.vertices, wall.mesh.triangles, limit.body)


def refuse_unclear_laminate(job: Job, limits: Sequence[LimitProof]) -> None:
    """Raise JobError, with the place, if the laminated part comes too near to a limit."""
    turned = job.laminate is not None and job.laminate.edge != "trim"
    advice = 'take fewer or thinner plies, laminate.edge = "trim", or' if turned else "take fewer or thinner plies, or"
    for limit in limits:
        if limit.required_mm - limit.proof.min_mm > TOLERANCES.chord:
            raise JobError(
                "laminate.plies",
                f"make a part of {laminate_mm(job):.2f} mm that comes within {limit.proof.min_mm:.2f} mm of the {limit.name} "
                f"{format_place(limit.proof.point)}, {limit.required_mm:.2f} mm are required; {advice} "
                "restore the clearance of the cage there",
                limit.proof.point,
            )


def laminated_steps(
    job: Job, laminate: Laminate, part: ProvenPart, skin: Skin, cage: Cage, mesh_body: MeshBodyMaker | None
) -> Steps[Laminated]:
    """What a proven part takes. skin : the whole one of the cage. Raises ShapeError where plug, buck or mold cannot be."""
    face = touched_face(_without_openings(job, part, skin, mesh_body), laminate)
    yield "Draft"
    drafts = mold_drafts(face, laminate)
    shells = mold_shells(face, laminate, drafts[0].draft.pull, job.wall.thickness)
    solids = yield from laminate_solid_steps(job, laminate, shells, part.seats)
    remarks = [*draft_remarks(drafts, laminate), *opening_remarks(job, drafts, cage, mesh_body), *solids.remarks]
    if job.openings:
        remarks.append(
            f"The {shells[0].name} is closed where the fender has openings; mark them on the part through the printed fender, and cut them."
        )
    yield "Flat patterns of the plies"
    patterns = None
    try:
        patterns = ply_patterns(_coarse_face(job, laminate, cage, mesh_body), laminate)
    except ShapeError as error:  # cloth can be cut without
        remarks.append(f"There are no flat patterns of the plies: {error}.")
    return Laminated(part, part_schedule(laminate, part.wall), face, drafts, solids.pieces, patterns, tuple(remarks))


def opening_remarks(job: Job, drafts: tuple[PieceDraft, ...], cage: Cage, mesh_body: MeshBodyMaker | None) -> Iterator[str]:
    """What the least change of the cage would be by which the mold comes off; nothing where it does."""
    if min(piece.draft.least for piece in drafts) >= FAIL_DRAFT_DEG:
        return
    stencil = skin_stencil(cage.topology, _COARSE_LEVEL)
    pulls = pulls_at(stencil.position.apply(cage.points), drafts)
    opened = open_draft(cage, stencil, clearance_field(job, mesh_body=mesh_body), pulls, OPENED_DRAFT_DEG)
    if opened.enough:
        yield (
            f"Open Draft in the panel would give the sides {opened.least_deg:.1f} deg by moving points of the cage by up to "
            f"{opened.moved:.1f} mm, and keeps the clearance."
        )


_COARSE_LEVEL = 3
_COARSE_CHORD = 0.3
"""Of the face that is laid flat: facets of some mm, by which lengths are short by less than 0.1 %."""


def _coarse_face(job: Job, laminate: Laminate, cage: Cage, mesh_body: MeshBodyMaker | None) -> Surface:
    """The face that lies on mold or buck, without openings and seats, in few facets."""
    rough = full_skin(skin_of(cage, skin_stencil(cage.topology, _COARSE_LEVEL)))
    surface = surface_of_quads(rough.points, rough.normals, rough.quads)
    field = trim_field(replace(job, openings=()), surface, mesh_body)
    if field is not None:
        surface = cut_surface(surface, field.values, _COARSE_CHORD)
    depth = laminate_mm(job) if laminate.route == "buck" else 0.0
    return Surface(surface.points + (wall_shares(job.wall)[0] - depth) * surface.normals, surface.normals, surface.triangles)


def _without_openings(job: Job, part: ProvenPart, skin: Skin, mesh_body: MeshBodyMaker | None) -> ClosedWall:
    """The part before its openings are cut: a mold has none."""
    if not job.openings:
        return part.wall
    whole = replace(job, openings=())
    surface = trimmed(whole, surface_of_quads(skin.points, skin.normals, skin.quads), mesh_body)
    return laminated_part(whole, surface, part.seats)
