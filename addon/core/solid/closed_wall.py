# SPDX-License-Identifier: GPL-3.0-or-later
"""The closed wall around a sheet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..arrays import Array, Index
from ..errors import ShapeError
from ..smooth_step import smooth_step
from ..tolerances import TOLERANCES
from .curvature import check_offset
from .place import said
from .refine import refined
from .rim import rim_strip
from .rim_profile import rim_profile
from .seat import Seat, SeatedFace, check_covered, seat_face
from .sheet import Boundary, Sheet, boundary_of
from .triangle_mesh import TriangleMesh


@dataclass(frozen=True, eq=False)
class ClosedWall:
    """A closed wall and what it was made from.

    mesh : the closed mesh; its first triangles are those of the outer face, as many as `triangles`, then those of the inner
    outer, inner : (n, 3) float, the two faces, point by point; triangles : (m, 3) int of either face
    normals : (n, 3) float, unit, outward, of the face that the wall was built on
    boundary : edge of the faces; thickness : nominal, mm; edge : kind of rim
    seat_weight : (n,) float, 1 on the seat, 0 where the wall has its plain shape
    """

    mesh: TriangleMesh
    outer: Array
    inner: Array
    normals: Array
    triangles: Index
    boundary: Boundary
    thickness: float
    edge: str
    seat_weight: Array


def closed_wall(sheet: Sheet, outward: float, inward: float, edge: str = "round", seat: Seat | None = None) -> ClosedWall:
    """The closed wall around a sheet, with a flat seat.

    outward, inward : mm of wall on either side of the sheet, along its normals and against them; their sum is the thickness
    edge : one of rim_profile.EDGES
    Facets are refined until they are within TOLERANCES.chord of the true faces.
    Raises ShapeError or JobError with a sentence where such a wall cannot be.
    """
    thickness = outward + inward
    on_inner = seat is not None and seat.face == "inner"
    offset = -inward if on_inner else outward
    # the sheet itself must bear the step to the face that is seated; that face must then bear the wall
    check_offset(sheet, max(offset, 0.0), max(-offset, 0.0))

    def face_of(at: Sheet) -> SeatedFace:
        points = at.points + offset * at.normals
        if seat is None:
            nothing = np.zeros(len(points))
            return SeatedFace(points, at.normals, nothing, nothing)
        return seat_face(points, at.normals, seat)

    sheet = refined(sheet, TOLERANCES.chord, thickness, lambda at: (face_of(at).points, face_of(at).normals))
    face = face_of(sheet)
    check_offset(
        Sheet(face.points, face.normals, sheet.triangles), thickness if on_inner else 0.0, 0.0 if on_inner else thickness
    )
    boundary = boundary_of(sheet)
    if seat is not None:
        check_covered(face, sheet.triangles, boundary.vertex, seat, thickness)
    away = thickness if on_inner else -thickness
    other = face.points + away * face.normals
    if seat is not None and seat.solid:
        other = _filled(other, face, sheet.points + (offset + away) * sheet.normals, away, thickness)
    outer, inner = (other, face.points) if on_inner else (face.points, other)
    mesh = _closed(outer, inner, sheet.triangles, boundary, rim_profile(edge, thickness, TOLERANCES.chord))
    return ClosedWall(mesh, outer, inner, face.normals, sheet.triangles, boundary, thickness, edge, face.weight)


def _filled(constant: Array, face: SeatedFace, plain: Array, away: float, thickness: float) -> Array:
    """The other face of a solid seat: left as it was (plain) where the seated face moved off it, else at a constant wall."""
    thicker = -np.sign(away) * face.lift
    left = smooth_step(thicker / thickness)
    return constant + left[:, None] * (plain - constant)


def _closed(outer: Array, inner: Array, triangles: Index, boundary: Boundary, profile: Array) -> TriangleMesh:
    count, edge = len(outer), boundary.vertex
    rim_points, rim_triangles = rim_strip(boundary, outer[edge], inner[edge], profile, edge, edge + count, 2 * count)
    mesh = TriangleMesh(
        np.concatenate([outer, inner, rim_points]), np.concatenate([triangles, triangles[:, ::-1] + count, rim_triangles])
    )
    folded = np.flatnonzero(
        np.einsum("ij,ij->i", mesh.area_vectors[: len(triangles)], mesh.area_vectors[len(triangles) : 2 * len(triangles)]) >= 0
    )
    if len(folded):
        place = outer[triangles[folded[0]]].mean(axis=0)
        raise ShapeError(f"the wall folds over itself {said(place)}; shape it rounder there or make the wall thinner", place)
    return mesh
