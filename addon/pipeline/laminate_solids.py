# SPDX-License-Identifier: GPL-3.0-or-later
"""The solids that a laminate is made with: plug or buck, the mold if it is printed, each split to fit the bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.base.arrays import Array
from ..core.job.job_sheet import Job, Laminate
from ..core.laminate.bed_cells import bed_cells
from ..core.laminate.drill_marks import drill_marks
from ..core.laminate.flange_fittings import LEAST_WIDTH_MM, FlangeFittings, bolt_cutter, flange_fittings, key_dome
from ..core.laminate.mold_shape import MoldShell, grown, part_shrink
from ..core.laminate.parting_board import parting_board
from ..core.mesh.boolean import Solid, difference, file_body, intersection, mesh_of, solid, union
from ..core.printing.print_fit import PrintFit, print_fit
from ..core.seat.seat import Seat
from ..core.tables.materials import SHRINK, print_scale
from ..core.tables.mold_rules import FEMALE_WALL_MM, KEY_PLAY_MM
from .piece import Part, finished_part
from .steps import Steps

_REACH = 20.0
"""Of bolt cutters to both sides of a flange, mm."""


BOARD = "parting_board"


@dataclass(frozen=True, eq=False)
class LaminateSolid:
    """A piece to print. body : "plug", "buck", "mold" or BOARD; part : its name is that of the file; fit : how it lies on the bed"""

    body: str
    part: Part
    fit: PrintFit


@dataclass(frozen=True, eq=False)
class LaminateSolids:
    """pieces : of all bodies; remarks : what the builder must be told of them"""

    pieces: tuple[LaminateSolid, ...]
    remarks: tuple[str, ...]


def laminate_solid_steps(
    job: Job, laminate: Laminate, shells: Sequence[MoldShell], seats: Sequence[Seat]
) -> Steps[LaminateSolids]:
    """The pieces of all shells, closed, in wheel axes.

    seats : as they lie in the part, whose bolts are marked for drilling. Raises ShapeError if a body cannot be cut.
    """
    pieces: list[LaminateSolid] = []
    remarks: list[str] = []
    for each in shells:
        yield f"The {each.name}"
        pieces += _pieces(job, laminate, each.name, *_fitted(each, laminate, seats), seats[0].origin, remarks)
        remarks += _shell_remarks(each, laminate)
    if laminate.pieces == 2 and laminate.route == "mold":
        yield "The parting board"
        pieces += _pieces(job, laminate, BOARD, *_board(shells[0], laminate), seats[0].origin, remarks)
    return LaminateSolids(tuple(pieces), tuple(remarks))


def _pieces(
    job: Job, laminate: Laminate, name: str, body: Solid, places: Array, about: Array, remarks: list[str]
) -> list[LaminateSolid]:
    """A body, larger by what the part shrinks about a point (3,), split to fit the bed off the places (k, 3) of bolts and keys."""
    shrink = part_shrink(laminate)
    whole = file_body(solid(grown(mesh_of(body), shrink, about), name))
    parts = _split(name, whole, about + print_scale(shrink) * (places - about), job, remarks)
    fits = [print_fit(part.mesh.vertices, _bed(job), _margin(job)) for part in parts]
    return [LaminateSolid(name, part, fit) for part, fit in zip(parts, fits, strict=True)]


def _board(plug: MoldShell, laminate: Laminate) -> tuple[Solid, Array]:
    """The parting board with its bolt holes and with keys toward the left piece; and where these are, (k, 3) mm."""
    board = parting_board(plug.shell.mesh, laminate.flange, FEMALE_WALL_MM)
    left = np.array([1.0, 0.0, 0.0])
    keys = [solid(key_dome(place, left, 0.5 * FEMALE_WALL_MM), "keys of the parting board") for place in board.keys]
    body = union([solid(board.mesh, BOARD), *keys], "keys of the parting board")
    cutters = [solid(bolt_cutter(place, left, _REACH), "bolt holes of the parting board") for place in board.bolts]
    return difference(body, cutters, "bolt holes of the parting board"), np.concatenate([board.bolts, board.keys])


def _fitted(each: MoldShell, laminate: Laminate, seats: Sequence[Seat]) -> tuple[Solid, Array]:
    """A shell with the bolts and keys of its flange and the marks for drilling; and where bolts and keys are, (k, 3) mm."""
    body = solid(each.shell.mesh, each.name)
    if laminate.route == "buck":
        return _marked(body, each, seats), np.zeros((0, 3))
    fittings = flange_fittings(each.shell)
    body = _keyed(body, each, fittings)
    what = f"bolt holes in the flange of the {each.name}"
    cutters = [bolt_cutter(place, up, _REACH) for place, up in zip(fittings.bolts, fittings.bolt_ups, strict=True)]
    body = difference(body, [solid(cutter, what) for cutter in cutters], what)
    return _marked(body, each, seats), fittings.places


def _keyed(body: Solid, each: MoldShell, fittings: FlangeFittings) -> Solid:
    """Domes on a plug; hollows in a mold that is printed itself, with play, so that both go together."""
    placed = list(zip(fittings.keys, fittings.key_ups, strict=True))
    what = f"keys in the flange of the {each.name}"
    if each.name == "mold":
        return difference(body, [solid(key_dome(place, up, _SINK, KEY_PLAY_MM), what) for place, up in placed], what)
    return union([body, *(solid(key_dome(place, up, 0.5 * each.thickness), what) for place, up in placed)], what)


_SINK = 1.0


def _marked(body: Solid, each: MoldShell, seats: Sequence[Seat]) -> Solid:
    """A shell with a mark for the drill at each bolt; a mold gets none, the part has them from the plug's drawing."""
    if each.name == "mold":
        return body
    what = f"drill marks of the {each.name}"
    return difference(body, [solid(mark, what) for mark in drill_marks(each.shell.mesh, seats)], what)


def _split(name: str, whole: Solid, places: Array, job: Job, remarks: list[str]) -> list[Part]:
    bed, margin = _bed(job), _margin(job)
    cells = bed_cells(mesh_of(whole), places, lambda points: print_fit(points, bed, margin).fits)
    if cells is None:
        remarks.append(f"The {name} cannot be cut so that its pieces fit the bed; it is written in one, for a larger printer.")
        return [finished_part(name, whole)]
    parts = []
    for cell in cells:
        if cell.room is None:
            parts.append(finished_part(name, whole))
            continue
        called = f"{name}_{cell.name}"
        what = f"the {called} piece"
        parts.append(finished_part(called, intersection(whole, solid(cell.room, what), what)))
    return parts


def _shell_remarks(each: MoldShell, laminate: Laminate) -> list[str]:
    if laminate.route == "mold" and laminate.flange < LEAST_WIDTH_MM and each.name == "plug":
        return [
            (
                f"The flange of {laminate.flange:g} mm is too narrow for bolts and keys and has none; they need {LEAST_WIDTH_MM:g} mm, "
                "laminate.flange."
            )
        ]
    if laminate.route == "mold" and each.shell.narrowed and each.name == "plug":
        least = float(each.shell.width.min())
        return [
            (
                f"The flange of {laminate.flange:g} mm is narrowed to {least:.0f} mm where its edge is hollow, so that it does not run into "
                "itself; add cardboard and tape there when the mold is laid."
            )
        ]
    return []


def _bed(job: Job) -> tuple[float, float, float]:
    """The bed for a model that the slicer makes larger for the shrinkage of the print."""
    scale = print_scale(SHRINK[job.printer.material][0])
    one, two, three = (side / scale for side in job.printer.bed)
    return one, two, three


def _margin(job: Job) -> float:
    return job.printer.margin / print_scale(SHRINK[job.printer.material][0])
