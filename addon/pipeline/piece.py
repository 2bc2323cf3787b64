# SPDX-License-Identifier: GPL-3.0-or-later
"""A piece to print, and how it is cut out of the whole."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.base.errors import ShapeError
from ..core.base.format_place import format_place
from ..core.mesh.boolean import Solid, difference, file_body, file_mesh, intersection, separate_parts, solid, union
from ..core.mesh.collapse_short_edges import coincident_points
from ..core.mesh.triangle_mesh import TriangleMesh
from ..core.pieces.cutters import PieceCut


@dataclass(frozen=True, eq=False)
class Part:
    """A piece to print. mesh : closed, wheel axes, float32 values.

    name : "front", "rear", "left", "right" or "whole"; with a number behind it where a half is cut again
    """

    name: str
    mesh: TriangleMesh


def cut_piece(whole: Solid, cut: PieceCut) -> Solid:
    """What a cut leaves of the whole. Raises ShapeError if that is nothing."""
    # the small bodies are put together first, so that the whole is cut once a piece
    room = solid(cut.keep, f"{cut.name} piece")
    if cut.layer is not None and cut.layer_room is not None:
        what = f"lap of the {cut.name} piece"
        room = difference(room, [intersection(solid(cut.layer, what), solid(cut.layer_room, what), what)], what)
    if cut.tongues is not None:
        what = f"keys of the {cut.name} piece"
        room = union([room, solid(cut.tongues, what)], what)
    if cut.pockets is not None:
        what = f"pockets of the {cut.name} piece"
        room = difference(room, [solid(cut.pockets, what)], what)
    return intersection(whole, room, f"{cut.name} piece")


def single_body(name: str, body: Solid) -> Solid:
    """The body of a piece, without specks. Raises ShapeError if it is in several parts."""
    parts = separate_parts(body)
    if len(parts) > 1:
        raise ShapeError(
            f"the {name} piece falls into {len(parts)} parts; a cut may cross the fender only once, so shorten the fender, cut "
            'it in the other direction, or keep to split.pieces = "two"'
        )
    return parts[0]


def finished_part(name: str, body: Solid) -> Part:
    """A piece as it is written. Raises ShapeError if it is in several parts or touches itself."""
    mesh = file_mesh(file_body(single_body(name, body)))
    double = coincident_points(mesh)
    if len(double):
        place = mesh.vertices[double[0]]
        raise ShapeError(f"the {name} piece touches itself {format_place(place)}; move the cut or the shape a little", place)
    return Part(name, mesh)
