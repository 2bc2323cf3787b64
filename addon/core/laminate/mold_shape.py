# SPDX-License-Identifier: GPL-3.0-or-later
"""The shells that are printed: plug, buck, mold."""

from __future__ import annotations

from dataclasses import dataclass

from ..base.arrays import Array
from ..job.job_sheet import Laminate
from ..mesh.open_surface import Surface
from ..mesh.triangle_mesh import TriangleMesh
from ..tables.laminates import LINEAR_SHRINK
from ..tables.materials import print_scale
from ..tables.mold_rules import (
    FEMALE_WALL_MM,
    FLANGE_RADIUS_MM,
    LAY_ON_MM,
    SCRIBE_DEPTH_MM,
    SCRIBE_WIDTH_MM,
    TRIM_MARGIN_MM,
)
from ..wall.closed_wall import ClosedWall
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
        return (MoldShell("buck", flanged_shell(face, thickness, on), thickness),)
    shape = FlangeShape(
        (x, y, z),
        laminate.flange,
        TRIM_MARGIN_MM,
        max(FLANGE_RADIUS_MM, thickness + _ROUND, FEMALE_WALL_MM + _ROUND),
        SCRIBE_WIDTH_MM,
        SCRIBE_DEPTH_MM,
        mirrored=laminate.pieces == 2,
    )
    shells = [MoldShell("plug", flanged_shell(face, thickness, shape), thickness)]
    if laminate.printed_mold == "yes":
        shells.append(MoldShell("mold", flanged_shell(face, -FEMALE_WALL_MM, shape), FEMALE_WALL_MM))
    return tuple(shells)


def part_shrink(laminate: Laminate) -> float:
    """Share by which the part shrinks in the mold; 0 over a buck, which it grips."""
    if laminate.route == "buck":
        return 0.0
    return LINEAR_SHRINK[laminate.resin] if laminate.shrink is None else laminate.shrink / 100.0


def grown(mesh: TriangleMesh, shrink: float, about: Array) -> TriangleMesh:
    """The mesh larger by what the part shrinks, about a point (3,) that stays: 1 / (1 - s)."""
    return mesh if shrink == 0.0 else TriangleMesh(about + print_scale(shrink) * (mesh.vertices - about), mesh.triangles)
