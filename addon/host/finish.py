# SPDX-License-Identifier: GPL-3.0-or-later
"""From the skin to the finished pieces: wall, seat, rim, holes, split."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.bore import bore_of
from ..core.errors import JobError, ShapeError
from ..core.job_sheet import Job
from ..core.mount import MountFrame
from ..core.seat import wall_shares
from ..core.solid.bolt_remarks import uneven_remarks
from ..core.solid.clean_mesh import coincident_points
from ..core.solid.closed_wall import ClosedWall, closed_wall
from ..core.solid.cutters import PieceCut, piece_cuts
from ..core.solid.holes import hole_cutter
from ..core.solid.joint import Joint, planned_joint
from ..core.solid.place import said
from ..core.solid.seat import Seat
from ..core.solid.sheet import Sheet
from ..core.solid.straight_reach import Cylinder, check_straight_reach, reach_cylinders
from ..core.solid.triangle_mesh import TriangleMesh
from ..core.solid.wall_check import WallStats, wall_stats
from ..core.tables.edge_distance import edge_distance
from .boolean import difference, intersection, rounded
from .steps import Steps, run_steps


@dataclass(frozen=True, eq=False)
class Part:
    """A piece to print. name : "front", "rear", "left", "right" or "whole"; mesh : closed, wheel axes, float32 values."""

    name: str
    mesh: TriangleMesh


@dataclass(frozen=True, eq=False)
class Finished:
    """The finished fender.

    whole : with its holes, before the split; parts : the pieces, the whole as one where nothing is split
    wall : measured; joint : None where nothing is split; hole_diameter, edge_distance : mm, by the tables
    reach : what must be free for screws and tools; remarks : what the builder must be told of the bolts
    """

    whole: TriangleMesh
    parts: tuple[Part, ...]
    wall: WallStats
    joint: Joint | None
    hole_diameter: float
    edge_distance: float
    reach: tuple[Cylinder, ...]
    remarks: tuple[str, ...]


def seat_of(job: Job, frame: MountFrame) -> Seat:
    """The seat that the mount asks for."""
    return Seat(
        origin=frame.origin,
        x=frame.x,
        forward=frame.forward,
        normal=frame.up,
        bolts=frame.bolts_uv,
        pad=frame.pad,
        blend=job.mount.blend,
        face="outer" if job.mount.side == "under" else "inner",
        solid=job.wall.seat == "pad",
    )


def finish(job: Job, sheet: Sheet, frame: MountFrame) -> Finished:
    """The closed pieces of a fender, at once; see finish_steps."""
    return run_steps(finish_steps(job, sheet, frame))


def finish_steps(job: Job, sheet: Sheet, frame: MountFrame) -> Steps[Finished]:
    """The closed pieces of a fender.

    sheet : the whole skin (not its half), wheel axes, mm; frame : the mount of the job
    Raises JobError or ShapeError with a sentence where the job cannot be made from this skin.
    """
    seat = seat_of(job, frame)
    bore = bore_of("mount", job.mount)
    distance = edge_distance(job.mount.thread, job.laminate is not None)
    joint = planned_joint(job.split, seat, job.wall.thickness, distance, job.printer.nozzle, bore.slots)
    outward, inward = wall_shares(job.wall)
    wall = closed_wall(sheet, outward, inward, job.wall.edge, seat)
    _check_edge_distance(wall, seat, distance + bore.travel)
    stats = wall_stats(wall)
    lap_fit = job.split.fit if joint is not None and job.split.joint == "full_lap" else None
    yield "Bolt holes"
    whole = difference(rounded(wall.mesh), hole_cutter(wall, seat, bore, lap_fit=lap_fit), "bolt holes")
    reach = reach_cylinders(wall, seat, bore)
    check_straight_reach(whole, reach)
    pieces = (Part("whole", whole),) if joint is None else (yield from _piece_steps(whole, piece_cuts(wall, joint)))
    for piece in pieces:
        _check_piece(piece)
    return Finished(whole, pieces, stats, joint, bore.hole, distance, reach, uneven_remarks(wall, seat, bore, "mount"))


def _piece_steps(whole: TriangleMesh, cuts: Sequence[PieceCut]) -> Steps[tuple[Part, ...]]:
    pieces = []
    for cut in cuts:
        yield f"The {cut.name} piece"
        pieces.append(_piece(whole, cut))
    return tuple(pieces)


def _piece(whole: TriangleMesh, cut: PieceCut) -> Part:
    # the small bodies are put together first, so that the whole is cut once a piece
    room = cut.keep
    if cut.layer is not None and cut.layer_room is not None:
        layer = intersection(cut.layer, cut.layer_room, f"lap of the {cut.name} piece")
        room = difference(room, layer, f"lap of the {cut.name} piece")
    return Part(cut.name, intersection(whole, room, f"{cut.name} piece"))


def _check_edge_distance(wall: ClosedWall, seat: Seat, distance: float) -> None:
    edge = wall.boundary.vertex
    for number, bolt in enumerate(seat.place(seat.bolts), start=1):
        away = np.linalg.norm(0.5 * (wall.outer + wall.inner)[edge] - bolt, axis=1)
        if away.min() < distance:
            raise JobError(
                "mount.bolts",
                f"bolt {number} is {away.min():.1f} mm from the fender's edge {said(bolt)}, at least {distance:.1f} mm is needed",
            )


def _check_piece(piece: Part) -> None:
    count = piece.mesh.part_count
    if count != 1:
        raise ShapeError(
            f"the {piece.name} piece falls into {count} parts; the cut may cross the fender only once, so shorten the "
            "fender or cut it along its other way"
        )
    double = coincident_points(piece.mesh)
    if len(double):
        place = piece.mesh.vertices[double[0]]
        raise ShapeError(f"the {piece.name} piece touches itself {said(place)}; move the cut or the shape a little", place)
