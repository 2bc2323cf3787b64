# SPDX-License-Identifier: GPL-3.0-or-later
"""A piece to print, and how it is cut out of the whole."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.base.errors import ShapeError
from ..core.base.format_place import format_place
from ..core.mesh.clean_mesh import coincident_points
from ..core.mesh.delaunay_flips import delaunay_flips
from ..core.mesh.drop_small_components import drop_small_components
from ..core.mesh.remove_slivers import remove_slivers
from ..core.mesh.triangle_mesh import TriangleMesh
from ..core.pieces.cutters import PieceCut
from ..host.boolean import difference, intersection, solver, union


@dataclass(frozen=True, eq=False)
class Part:
    """A piece to print. mesh : closed, wheel axes, float32 values.

    name : "front", "rear", "left", "right" or "whole"; with a number behind it where a half is cut again
    """

    name: str
    mesh: TriangleMesh


def cut_piece(whole: TriangleMesh, cut: PieceCut) -> Part:
    """The piece that a cut leaves of the whole. Raises ShapeError if the host cannot cut it."""
    if (cut.tongues is not None or cut.pockets is not None) and solver() != "MANIFOLD":
        # its other solvers give closed pieces with keys now and then, and some of them wrong
        raise ShapeError(
            'split.locate: "keys" need a solver that this host was built without; allowed are "bolts" and "pins", or use the host as '
            "its makers ship it"
        )
    # the small bodies are put together first, so that the whole is cut once a piece
    room = cut.keep
    if cut.layer is not None and cut.layer_room is not None:
        layer = intersection(cut.layer, cut.layer_room, f"lap of the {cut.name} piece")
        room = delaunay_flips(difference(room, layer, f"lap of the {cut.name} piece"))
    if cut.tongues is not None:
        room = delaunay_flips(union(room, cut.tongues, f"keys of the {cut.name} piece"))
    if cut.pockets is not None:
        room = delaunay_flips(difference(room, cut.pockets, f"pockets of the {cut.name} piece"))
    return Part(cut.name, remove_slivers(drop_small_components(intersection(whole, room, f"{cut.name} piece"))))


def check_piece(piece: Part) -> None:
    """Raise ShapeError if a piece is not a single body that keeps off itself."""
    count = piece.mesh.part_count
    if count != 1:
        raise ShapeError(
            f"the {piece.name} piece falls into {count} parts; a cut may cross the fender only once, so shorten the fender, cut "
            'it along its other way, or keep to split.pieces = "two"'
        )
    double = coincident_points(piece.mesh)
    if len(double):
        place = piece.mesh.vertices[double[0]]
        raise ShapeError(
            f"the {piece.name} piece touches itself {format_place(place)}; move the cut or the shape a little", place
        )
