# SPDX-License-Identifier: GPL-3.0-or-later
"""A half that the bed cannot hold, cut again into pieces that it can."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from ..core.arrays import Array
from ..core.job_sheet import Job
from ..core.print_fit import print_fit
from ..core.solid.closed_wall import ClosedWall
from ..core.solid.cutters import piece_cuts
from ..core.solid.dowel_holes import dowel_holes
from ..core.solid.further_cuts import FurtherCuts, can_be_lapped, further_cuts, named
from ..core.solid.joint import Joint
from ..core.solid.triangle_mesh import joined
from ..core.tables.materials import SHRINK, print_scale
from ..core.wheel_axes import station_of
from .boolean import difference
from .piece import Part, cut_piece
from .steps import Steps


def further_piece_steps(half: Part, first: bool, wall: ClosedWall, joint: Joint, job: Job) -> Steps[tuple[tuple[Part, ...], str]]:
    """The pieces of a half, the one with the bolts among them, and what the builder must be told; the half itself if it fits.

    first : True for the joint's first piece. Raises JobError or ShapeError if it must be cut again and cannot be.
    """

    def fits(points: Array) -> bool:
        scale = print_scale(SHRINK[job.printer.material][0])
        one, two, three = (side / scale for side in job.printer.bed)
        return print_fit(points, (one, two, three), job.printer.margin / scale).fits

    if job.split.pieces == "two" or fits(half.mesh.vertices):
        return (half,), ""
    yield f"Further cuts of the {half.name} piece"
    cuts = further_cuts(half.mesh.vertices, wall, joint, first, job.split.lap, job.printer.nozzle, fits)
    if cuts is None:
        return (half,), f"No further cuts make the {half.name} piece fit the bed; they keep clear of seats, openings and tips."
    pieces, pins = [], 0
    rest = half
    for cut, (behind, ahead) in zip(cuts.joints, pairwise(cuts.names), strict=True):
        yield f"The {behind} piece"
        drilled = rest.mesh
        if cut.half_length > 0.0 and job.split.pin > 0.0:
            holes = dowel_holes(wall, cut, job.split.pin, _beside(wall, joint, first))
            drilled = difference(drilled, joined(holes), f"dowel holes of the {half.name} piece")
            pins += len(holes)
        front, rear = piece_cuts(wall, named(cut, ahead, behind))
        pieces.append(cut_piece(drilled, rear))
        rest = cut_piece(drilled, front)
    outward = sorted((*pieces, rest), key=lambda piece: (len(piece.name), piece.name))
    return tuple(outward), _told(half, cuts, pins, job)


def _beside(wall: ClosedWall, joint: Joint, first: bool) -> np.ndarray:
    """Points of the wall on the half's side of the joint through the bolts, past its lap."""
    off = joint.along(0.5 * (wall.outer + wall.inner)) * (1.0 if first else -1.0)
    return np.asarray(off > joint.half_length + joint.fit)


def _told(half: Part, cuts: FurtherCuts, pins: int, job: Job) -> str:
    stations = ", ".join(f"{float(station_of(np.cross(cut.normal, [1.0, 0.0, 0.0]))):+.0f}" for cut in cuts.joints)
    pinned = f" and {pins} pins of {job.split.pin:g} mm, cut flush" if pins else ""
    lap = f"glue the laps with epoxy{pinned}"
    if cuts.joints[0].half_length == 0.0:
        why = f"a wall of {job.wall.thickness:g} mm is too thin for a lap"
        if can_be_lapped(job.wall.thickness, cuts.joints[0], job.printer.nozzle):
            why = "a lap cannot cross the one along the bike"
        lap = f"{why}, so glue the faces with epoxy and lay glass inside of them"
    return f"The {half.name} piece is too big for the bed and is cut again at station {stations}: {lap}, before it is fitted."
