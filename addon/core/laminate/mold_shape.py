# SPDX-License-Identifier: GPL-3.0-or-later
"""The shells that are printed: plug, buck, mold."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..base.arrays import Array
from ..base.errors import ShapeError
from ..base.format_place import format_place
from ..job.job_sheet import Laminate
from ..mesh.open_surface import Surface
from ..mesh.triangle_mesh import TriangleMesh
from ..plies.schedule import laminate_thickness
from ..tables.laminates import LINEAR_SHRINK
from ..tables.materials import print_scale
from ..tables.mold_rules import (
    EDGE_MARGIN_MM,
    FEMALE_WALL_MM,
    FLANGE_RADIUS_MM,
    LAY_ON_MM,
    SCRIBE_DEPTH_MM,
    SCRIBE_WIDTH_MM,
    TRIM_MARGIN_MM,
)
from ..wall.closed_wall import ClosedWall
from ..wall.job_laminate import laminate_mix
from .flange_section import FlangeShape
from .flanged_shell import FlangedShell, flanged_shell

_ROUND = 1.0
"""Least radius of the far side of a bend, mm."""


@dataclass(frozen=True, eq=False)
class MoldShell:
    """A shell to print. name : "plug", "buck" or "mold"; thickness : mm, of its wall, behind its face or before it"""

    name: str
    shell: FlangedShell
    thickness: float


def touched_face(wall: ClosedWall, laminate: Laminate) -> Surface:
    """The face of the part that lies on the mold, its outer one, or on the buck, its inner one; normals outward."""
    return Surface(wall.outer if laminate.route == "mold" else wall.inner, wall.normals, wall.triangles)


def mold_shells(face: Surface, laminate: Laminate, pull: Array, thickness: float) -> tuple[MoldShell, ...]:
    """Plug or buck, and the mold if it is to be printed.

    face : see touched_face; pull : (3,) unit, of the mold or its left piece; thickness : mm, of the print's wall
    Raises ShapeError, with the place, where a shell cannot be.
    """
    x, y, z = (float(value) for value in pull)
    if laminate.route == "buck":
        width = LAY_ON_MM - TRIM_MARGIN_MM
        on = FlangeShape((x, y, z), width, TRIM_MARGIN_MM, 0.0, SCRIBE_WIDTH_MM, SCRIBE_DEPTH_MM, straight=True)
        if laminate.edge != "trim":
            turned = _edge_shape(laminate, pull, thickness)
            on = replace(
                turned,
                radius=turned.radius + part_mm(laminate),  # the part's outer face has the plain one
                width=turned.width + LAY_ON_MM,
                scribe_depth=SCRIBE_DEPTH_MM,
                scribe_at=turned.width,
            )
        return (MoldShell("buck", flanged_shell(face, thickness, on), thickness),)
    shape = FlangeShape(
        (x, y, z),
        laminate.flange,
        TRIM_MARGIN_MM,
        _bend_radius(laminate, thickness),
        SCRIBE_WIDTH_MM,
        SCRIBE_DEPTH_MM,
        mirrored=laminate.pieces == 2,
    )
    if laminate.edge != "trim":
        shape = replace(shape, margin=EDGE_MARGIN_MM, scribe_at=part_edge_width(laminate))
    shells = [MoldShell("plug", flanged_shell(face, thickness, shape), thickness)]
    if laminate.printed_mold == "yes":
        shells.append(MoldShell("mold", flanged_shell(face, -FEMALE_WALL_MM, shape), FEMALE_WALL_MM))
    return tuple(shells)


def part_edge_width(laminate: Laminate) -> float:
    """How far the part's own edge goes on past its bend, mm; a rolled one hardly does."""
    return laminate.edge_size if laminate.edge == "return" else _ROLL_END_MM


_ROLL_END_MM = 0.5


def part_mm(laminate: Laminate) -> float:
    """Thickness of the part with its gel coat, mm."""
    return laminate_thickness(laminate.plies, laminate_mix(laminate))


def edged_part(wall: ClosedWall, laminate: Laminate, pull: Array, thickness: float) -> ClosedWall:
    """The part with its own edge, if that is turned out.

    pull : (3,) unit, of the mold or its left piece; thickness : mm, of the print's wall, whose bend is the same
    Raises ShapeError, with the place, where there is no room for it.
    """
    if laminate.edge == "trim":
        return wall
    face = Surface(wall.outer, wall.normals, wall.triangles)
    shell = flanged_shell(face, wall.thickness, _edge_shape(laminate, pull, thickness))
    if shell.narrowed:
        place = shell.base[int(np.argmin(shell.width))]
        raise ShapeError(f"the part's edge cannot be turned out {format_place(place)}: it is too hollow there; open it", place)
    return replace(wall, mesh=shell.mesh)


def _edge_shape(laminate: Laminate, pull: Array, thickness: float) -> FlangeShape:
    x, y, z = (float(value) for value in pull)
    radius, mirrored = _bend_radius(laminate, thickness), laminate.pieces == 2
    return FlangeShape((x, y, z), part_edge_width(laminate), EDGE_MARGIN_MM, radius, SCRIBE_WIDTH_MM, 0.0, mirrored=mirrored)


def _bend_radius(laminate: Laminate, thickness: float) -> float:
    """Of the outer face of the part at the bend, on plug, part and mold alike, mm, more than each of them is thick."""
    return max(FLANGE_RADIUS_MM, *(mm + _ROUND for mm in (thickness, FEMALE_WALL_MM, part_mm(laminate))))


def part_shrink(laminate: Laminate) -> float:
    """Share by which the part shrinks in the mold; 0 over a buck, which it grips."""
    if laminate.route == "buck":
        return 0.0
    return LINEAR_SHRINK[laminate.resin] if laminate.shrink is None else laminate.shrink / 100.0


def grown(mesh: TriangleMesh, shrink: float, about: Array) -> TriangleMesh:
    """The mesh larger by what the part shrinks, about a point (3,) that stays: 1 / (1 - s)."""
    return mesh if shrink == 0.0 else TriangleMesh(about + print_scale(shrink) * (mesh.vertices - about), mesh.triangles)
