# SPDX-License-Identifier: GPL-3.0-or-later
"""The solids that a laminate is made with: plug or buck, the mold if it is printed, each split to fit the bed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..core.base.arrays import Array
from ..core.job.job_sheet import Job, Laminate
from ..core.laminate.bed_cells import bed_cells
from ..core.laminate.drill_marks import drill_marks
from ..core.laminate.flange_fittings import FlangeFittings, bolt_cutter, flange_fittings, key_dome
from ..core.laminate.mold_shape import MoldShell, grown, part_shrink
from ..core.mesh.drop_small_components import drop_small_components
from ..core.mesh.remove_slivers import remove_slivers
from ..core.mesh.triangle_mesh import TriangleMesh, joined
from ..core.printing.print_fit import PrintFit, print_fit
from ..core.seat.seat import Seat
from ..core.tables.materials import SHRINK, print_scale
from ..core.tables.mold_rules import KEY_PLAY_MM
from ..host.boolean import difference, intersection, rounded, union
from .piece import Part, check_piece
from .steps import Steps

_REACH = 20.0
"""Of bolt cutters to both sides of a flange, mm."""


@dataclass(frozen=True, eq=False)
class LaminateSolid:
    """A piece to print. body : "plug", "buck" or "mold"; part : its name is that of the file; fit : how it lies on the bed"""

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
        whole, places = _fitted(each, laminate, seats)
        shrink, about = part_shrink(laminate), seats[0].origin
        whole = rounded(grown(whole, shrink, about))
        places = about + print_scale(shrink) * (places - about)
        yield f"The {each.name}, split to fit the bed"
        parts = _split(each.name, whole, places, job, remarks)
        for part in parts:
            check_piece(part)
            fit = print_fit(part.mesh.vertices, _bed(job), _margin(job))
            pieces.append(LaminateSolid(each.name, part, fit))
        remarks += _shell_remarks(each, laminate)
    return LaminateSolids(tuple(pieces), tuple(remarks))


def _fitted(each: MoldShell, laminate: Laminate, seats: Sequence[Seat]) -> tuple[TriangleMesh, Array]:
    """A shell with the bolts and keys of its flange and the marks for drilling; and where bolts and keys are, (k, 3) mm."""
    mesh = rounded(each.shell.mesh)
    if laminate.route == "buck":
        return _marked(mesh, each, seats), np.zeros((0, 3))
    fittings = flange_fittings(each.shell)
    mesh = _keyed(mesh, each, fittings)
    if len(fittings.bolts):
        cutters = [bolt_cutter(place, up, _REACH) for place, up in zip(fittings.bolts, fittings.bolt_ups, strict=True)]
        mesh = difference(mesh, joined(cutters), f"bolt holes in the flange of the {each.name}")
    return _marked(mesh, each, seats), fittings.places


def _keyed(mesh: TriangleMesh, each: MoldShell, fittings: FlangeFittings) -> TriangleMesh:
    """Domes on a plug; hollows in a mold that is printed itself, with play, so that both go together."""
    if not len(fittings.keys):
        return mesh
    placed = list(zip(fittings.keys, fittings.key_ups, strict=True))
    what = f"keys in the flange of the {each.name}"
    if each.name == "mold":
        return difference(mesh, joined([key_dome(place, up, _SINK, KEY_PLAY_MM) for place, up in placed]), what)
    return union(mesh, joined([key_dome(place, up, 0.5 * each.thickness) for place, up in placed]), what)


_SINK = 1.0


def _marked(mesh: TriangleMesh, each: MoldShell, seats: Sequence[Seat]) -> TriangleMesh:
    """A shell with a mark for the drill at each bolt; a mold gets none, the part has them from the plug's drawing."""
    if each.name == "mold":
        return mesh
    return difference(mesh, joined(drill_marks(each.shell.mesh, seats)), f"drill marks of the {each.name}")


def _split(name: str, whole: TriangleMesh, places: Array, job: Job, remarks: list[str]) -> list[Part]:
    bed, margin = _bed(job), _margin(job)
    cells = bed_cells(whole, places, lambda points: print_fit(points, bed, margin).fits)
    if cells is None:
        remarks.append(f"The {name} cannot be cut so that its pieces fit the bed; it is written in one, for a larger printer.")
        return [Part(name, whole)]
    return list(_cut(name, whole, [(cell.name, cell.room) for cell in cells]))


def _cut(name: str, whole: TriangleMesh, cells: Sequence[tuple[str, TriangleMesh | None]]) -> Iterator[Part]:
    for number, room in cells:
        if room is None:
            yield Part(name, whole)
            continue
        called = f"{name}_{number}"
        piece = intersection(whole, room, f"the {called} piece")
        yield Part(called, remove_slivers(drop_small_components(piece)))


def _shell_remarks(each: MoldShell, laminate: Laminate) -> list[str]:
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
