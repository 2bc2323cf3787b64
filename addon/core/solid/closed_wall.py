# SPDX-License-Identifier: GPL-3.0-or-later
"""The closed wall around a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from ..arrays import Array, Index
from ..errors import JobError, ShapeError
from ..smooth_step import smooth_step
from ..tolerances import TOLERANCES
from .curvature import check_offset
from .edge_plan import EdgePlan
from .place import said
from .refine import refined
from .rim import rim_strip
from .rim_profile import RimEdge
from .seat import Seat, SeatedFace, check_covered, seat_face
from .sheet import Boundary, Sheet
from .triangle_mesh import TriangleMesh
from .wall_ramp import WallRamp


@dataclass(frozen=True, eq=False)
class ClosedWall:
    """A closed wall and what it was made from.

    mesh : the closed mesh; its first triangles are those of the outer face, as many as `triangles`, then those of the inner
    outer, inner : (n, 3) float, the two faces, point by point; triangles : (m, 3) int of either face
    normals : (n, 3) float, unit, outward, of the face that the wall was built on
    boundary : edge of the faces; thickness : nominal, mm; edges : its rims
    rim : (s, k) int, vertices of its sections, from the outer to the inner face
    seats : worked into it; seat_weights : (n,) float of each, 1 on the seat, 0 where it leaves the wall as it is
    asked : (n,) float, mm, thickness that the wall was given at each point
    """

    mesh: TriangleMesh
    outer: Array
    inner: Array
    normals: Array
    triangles: Index
    boundary: Boundary
    thickness: float
    edges: EdgePlan
    rim: Index
    seats: tuple[Seat, ...]
    seat_weights: tuple[Array, ...]
    asked: Array

    @property
    def seat_weight(self) -> Array:
        """(n,) float, 1 on a seat, 0 where the wall has its plain shape."""
        return np.asarray(np.max([np.zeros(len(self.outer)), *self.seat_weights], axis=0))

    def weight_of(self, seat: Seat) -> Array:
        """(n,) float, the weight of one of the wall's seats. Raises ValueError for another one."""
        return self.seat_weights[self.seats.index(seat)]


def closed_wall(
    sheet: Sheet, outward: float, inward: float, edge: str | EdgePlan = "round", *seats: Seat, ramp: WallRamp | None = None
) -> ClosedWall:
    """The closed wall around a sheet, with flat seats; the first of them says which face the wall is built on.

    outward, inward : mm of wall on either side of the sheet, along its normals and against them; their sum is the thickness
    ramp : thins the wall toward the tips; None for a constant one
    edge : the rims, or the one of rim_profile.EDGES that stands all round
    Facets are refined until they are within TOLERANCES.chord of the true faces.
    Raises ShapeError or JobError with a sentence where such a wall cannot be.
    """
    thickness = outward + inward
    edges = EdgePlan.all_round(RimEdge(edge)) if isinstance(edge, str) else edge
    on_inner = bool(seats) and seats[0].face == "inner"
    offset, away = (-inward, thickness) if on_inner else (outward, -thickness)
    built = [_on_built_face(seat, on_inner, thickness) for seat in seats]
    # the sheet itself must bear the step to the face that is seated; that face must then bear the wall
    check_offset(sheet, max(offset, 0.0), max(-offset, 0.0))

    def share_of(at: Sheet) -> Array:
        return np.ones(len(at.points)) if ramp is None else ramp.share(at.points)

    def faces_of(at: Sheet) -> list[SeatedFace]:
        """The plain face, then what each seat alone makes of it."""
        points, nothing = at.points + offset * share_of(at)[:, None] * at.normals, np.zeros(len(at.points))
        return [SeatedFace(points, at.normals, nothing, nothing), *(seat_face(points, at.normals, seat) for seat in built)]

    def face_of(at: Sheet) -> tuple[Array, Array]:
        return _merged(faces_of(at))

    sheet = refined(sheet, TOLERANCES.chord, thickness, face_of)
    plain, *seated = faces_of(sheet)
    _check_seats_apart(seated, seats)
    face, normals = _merged([plain, *seated])
    check_offset(Sheet(face, normals, sheet.triangles), thickness if on_inner else 0.0, 0.0 if on_inner else thickness)
    boundary = sheet.boundary
    for seat, alone in zip(built, seated, strict=True):
        check_covered(alone, sheet.triangles, boundary.vertex, seat, thickness)
    share = share_of(sheet)
    _check_seats_full(seated, seats, share)
    other = face + away * share[:, None] * normals
    for seat, asked, alone in zip(built, seats, seated, strict=True):
        if not asked.solid:
            continue
        if seat is asked:
            other = _filled(other, -np.sign(away) * alone.lift, sheet.points + (offset + away) * share[:, None] * sheet.normals, thickness)
        else:
            face = _filled(face, np.sign(away) * alone.lift, plain.points, thickness)
    outer, inner = (other, face) if on_inner else (face, other)
    mesh, rim = _closed(outer, inner, sheet.triangles, boundary, edges)
    weights = tuple(alone.weight for alone in seated)
    return ClosedWall(mesh, outer, inner, normals, sheet.triangles, boundary, thickness, edges, rim, seats, weights, thickness * share)


def _on_built_face(seat: Seat, on_inner: bool, thickness: float) -> Seat:
    """The seat that the built face gets: the seat itself, or if it bears on the other face, one a wall beside its plane."""
    if (seat.face == "inner") == on_inner:
        return seat
    return replace(seat, origin=seat.origin + (-thickness if on_inner else thickness) * seat.normal)


def _merged(faces: Sequence[SeatedFace]) -> tuple[Array, Array]:
    """Points and normals, each from the seat that counts most there; none but the first, the plain face, counts elsewhere."""
    if len(faces) == 1:
        return faces[0].points, faces[0].normals
    strongest = 1 + np.argmax([face.weight for face in faces[1:]], axis=0)
    rows = np.arange(len(strongest))
    return np.stack([face.points for face in faces])[strongest, rows], np.stack([face.normals for face in faces])[strongest, rows]


def _check_seats_apart(faces: Sequence[SeatedFace], seats: Sequence[Seat]) -> None:
    for (i, one), (j, two) in combinations(enumerate(faces), 2):
        both = np.minimum(one.weight, two.weight)
        if both.max() > 0.0:
            place = one.points[np.argmax(both)]
            what, key = ("seat overlaps", "center") if both.max() == 1.0 else ("blend of the seat runs into", "blend")
            raise JobError(
                f"{seats[j].key}.{key}",
                f"the {what} the {'one' if what == 'seat overlaps' else 'blend of the one'} on the {seats[i].called} {said(place)}; "
                "make pads or blends smaller or move them apart",
                place,
            )


def _check_seats_full(faces: Sequence[SeatedFace], seats: Sequence[Seat], share: Array) -> None:
    """A seat's plane is a full wall from the other face, so that no seat may lie where the wall thins."""
    for face, seat in zip(faces, seats, strict=True):
        thin = (face.weight > 0.0) & (share < 1.0 - 1e-6)
        if thin.any() and face.weight[thin].max() > 1e-6:
            place = face.points[np.argmax(np.where(thin, face.weight, 0.0))]
            raise JobError(
                "wall.ramp", f"the wall thins under the {seat.called} {said(place)}; leave out the thickness of that tip", place
            )


def _filled(constant: Array, thicker: Array, plain: Array, thickness: float) -> Array:
    """A face opposite a solid seat: left as it was (plain) where the seated face moved off it, else at a constant wall."""
    left = smooth_step(thicker / thickness)
    return constant + left[:, None] * (plain - constant)


def _closed(outer: Array, inner: Array, triangles: Index, boundary: Boundary, edges: EdgePlan) -> tuple[TriangleMesh, Index]:
    count, edge = len(outer), boundary.vertex
    half = 0.5 * (outer[edge] - inner[edge])
    radius = np.linalg.norm(half, axis=1)
    profiles = edges.profiles(boundary, 0.5 * (outer[edge] + inner[edge]), half / radius[:, None], radius, TOLERANCES.chord)
    rim_points, rim_triangles, rim = rim_strip(boundary, outer[edge], inner[edge], profiles, edge, edge + count, 2 * count)
    mesh = TriangleMesh(
        np.concatenate([outer, inner, rim_points]), np.concatenate([triangles, triangles[:, ::-1] + count, rim_triangles])
    )
    folded = np.flatnonzero(
        np.einsum("ij,ij->i", mesh.area_vectors[: len(triangles)], mesh.area_vectors[len(triangles) : 2 * len(triangles)]) >= 0
    )
    if len(folded):
        place = outer[triangles[folded[0]]].mean(axis=0)
        raise ShapeError(f"the wall folds over itself {said(place)}; shape it rounder there or make the wall thinner", place)
    return mesh, rim
