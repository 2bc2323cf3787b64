# SPDX-License-Identifier: GPL-3.0-or-later
"""A half that the bed cannot hold, cut again into pieces that it can."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..core.base.arrays import Array
from ..core.base.wheel_axes import station_of
from ..core.job.job_sheet import Job
from ..core.mesh.boolean import Solid, difference, mesh_of, solid
from ..core.pieces.cutters import piece_cuts
from ..core.pieces.dowel_pins import Pin
from ..core.pieces.further_cuts import FurtherCuts, can_be_lapped, further_cuts, named
from ..core.pieces.joint import Joint
from ..core.pieces.locators import locators
from ..core.printing.bed_help import bed_help
from ..core.printing.print_fit import print_fit
from ..core.seat.placed_seat import PlacedSeat
from ..core.tables.materials import SHRINK, print_scale
from ..core.wall.closed_wall import ClosedWall
from .piece import Part, cut_piece, finished_part
from .steps import Steps


@dataclass(frozen=True)
class CutHalf:
    """pieces : of a half, the one with the bolts among them; pins : through its laps; keys : in its further joints

    remark : what the builder must be told, "" for nothing
    """

    pieces: tuple[Part, ...]
    pins: tuple[Pin, ...] = ()
    keys: int = 0
    remark: str = ""


def further_piece_steps(
    name: str, half: Solid, first: bool, wall: ClosedWall, joint: Joint, seats: Sequence[PlacedSeat], taken: Array, job: Job
) -> Steps[CutHalf]:
    """The pieces of a half; the half itself if it fits.

    name, half : of the half and its body; first : True for the joint's first piece; seats : all of the fender; taken : (k, 3) float, mm, pins and keys of the joint
    Raises JobError or ShapeError if it must be cut again and cannot be.
    """

    scale = print_scale(SHRINK[job.printer.material][0])
    one, two, three = (side / scale for side in job.printer.bed)
    bed, margin = (one, two, three), job.printer.margin / scale

    def fits(points: Array) -> bool:
        return print_fit(points, bed, margin).fits

    points = mesh_of(half).vertices
    if job.split.pieces == "two" or fits(points):
        return CutHalf((finished_part(name, half),))
    yield f"Further cuts of the {name} piece"
    help_ = bed_help(points, bed, margin, float(station_of(joint.point)))
    cuts = further_cuts(points, wall, joint, first, job.split, job.printer.nozzle, taken, fits)
    if cuts is None:
        remark = f"No further cuts make the {name} piece fit the bed; they keep clear of seats, openings and tips{_or(help_)}."
        return CutHalf((finished_part(name, half),), remark=remark)
    pieces: list[Part] = []
    pins: list[Pin] = []
    keys, rest, rest_name = 0, half, name
    for cut, (behind, ahead) in zip(cuts.joints, pairwise(cuts.names), strict=True):
        yield f"The {behind} piece"
        between = named(cut, ahead, behind)
        extras = locators(job.split, wall, between, seats, _beside(wall, joint, first), further=True)
        what = f"dowel holes of the {name} piece"
        drilled = difference(rest, [solid(pin.hole, what) for pin in extras.pins], what)
        front, rear = piece_cuts(wall, between, extras.keys)
        pieces.append(finished_part(rear.name, cut_piece(drilled, rear)))
        rest, rest_name = cut_piece(drilled, front), front.name
        pins += extras.pins
        keys += len(extras.keys)
    pieces.append(finished_part(rest_name, rest))
    outward = sorted(pieces, key=lambda piece: (len(piece.name), piece.name))
    return CutHalf(tuple(outward), tuple(pins), keys, _told(name, cuts, len(pins), keys, job) + _sentence(help_))


def _beside(wall: ClosedWall, joint: Joint, first: bool) -> np.ndarray:
    """Points of the wall on the half's side of the joint through the bolts, past its lap."""
    off = joint.along(0.5 * (wall.outer + wall.inner)) * (1.0 if first else -1.0)
    return np.asarray(off > joint.half_length + joint.fit)


def _told(name: str, cuts: FurtherCuts, pins: int, keys: int, job: Job) -> str:
    stations = ", ".join(f"{float(station_of(np.cross(cut.normal, [1.0, 0.0, 0.0]))):+.0f}" for cut in cuts.joints)
    extras = f" and {pins} pins of {job.split.pin:g} mm, cut flush" if pins else f" and their {keys} keys" if keys else ""
    lap = f"glue the laps with epoxy{extras}"
    if cuts.joints[0].half_length == 0.0:
        why = f"a wall of {job.wall.thickness:g} mm is too thin for a lap"
        if can_be_lapped(job.wall.thickness, cuts.joints[0], job.printer.nozzle):
            why = "a lap cannot cross the one along the bike"
        lap = f"{why}, so glue the faces{extras} with epoxy and lay glass inside of them"
    return f"The {name} piece is too big for the bed and is cut again at station {stations}: {lap}, before it is fitted."


def _sentence(help_: str) -> str:
    return f" {help_[0].upper()}{help_[1:]}." if help_ else ""


def _or(help_: str) -> str:
    return f"; {help_}" if help_ else ""
