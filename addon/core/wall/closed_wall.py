# SPDX-License-Identifier: GPL-3.0-or-later
"""The closed wall around a surface."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import numpy as np

from ..base.arrays import Array, Index
from ..base.errors import JobError, ShapeError
from ..base.format_place import format_place
from ..base.row_vectors import dot_rows
from ..base.smooth_step import smooth_step
from ..base.tolerances import TOLERANCES
from ..mesh.boolean import Solid, solid
from ..mesh.open_surface import Boundary, Surface
from ..mesh.refine import refined
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.seat import Seat, SeatedFace, check_covered, seat_face
from .curvature import check_offset
from .edge_plan import EdgePlan
from .rim import rim_strip
from .rim_profile import RimEdge
from .wall_shape import WallShape

RIB_CHORD = 0.1
"""Facets may be so far off a rib, mm, a quarter of a printed line: finer ones would be more than all others of a fender."""


@dataclass(frozen=True, eq=False)
class ClosedWall:
    """A closed wall and what it was made from.

    mesh : the closed mesh; its first triangles are those of the outer face, as many as `triangles`, then those of the inner
    outer, inner : (n, 3) float, the two faces, point by point; triangles : (m, 3) int of either face
    normals : (n, 3) float, unit, outward, of the face that the wall was built on
    boundary : edge of the faces; thickness : nominal, mm; edges : its rims
    rim : (s, k) int, vertices of its sections, from the outer to the inner face
    seats : worked into it; seat_weights : (n,) float of each, 1 on the seat, 0 where it leaves the wall as it is
    asked : (n,) float, mm, thickness that the wall was given at each point, ribs included; rib : (n,) float, mm, their height
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
    rib: Array

    @cached_property
    def body(self) -> Solid:
        """The closed mesh as the modeler holds it."""
        return solid(self.mesh, "wall")

    @property
    def thickest(self) -> float:
        """The most that was asked, mm."""
        return float(self.asked.max())

    @property
    def seat_weight(self) -> Array:
        """(n,) float, 1 on a seat, 0 where the wall has its plain shape."""
        return np.asarray(np.max([np.zeros(len(self.outer)), *self.seat_weights], axis=0))

    def weight_of(self, seat: Seat) -> Array:
        """(n,) float, the weight of one of the wall's seats. Raises ValueError for another one."""
        return self.seat_weights[self.seats.index(seat)]


def closed_wall(
    surface: Surface, outward: float, inward: float, edge: str | EdgePlan = "round", *seats: Seat, shape: WallShape | None = None
) -> ClosedWall:
    """The closed wall around a surface, with flat seats; the first of them says which face the wall is built on.

    outward, inward : mm of wall on either side of the surface, along its normals and against them; their sum is the thickness
    shape : where the wall is thicker or thinner, and its ribs, which stand on the outer face; None for a constant one. Under a seat
        the wall has its plain thickness.
    edge : the rims, or the one of EDGE_KINDS that stands all round
    Facets are refined until they are within TOLERANCES.chord of the true faces.
    Raises ShapeError or JobError with a sentence where such a wall cannot be.
    """
    thickness = outward + inward
    edges = EdgePlan.all_round(RimEdge(edge)) if isinstance(edge, str) else edge
    on_inner = bool(seats) and seats[0].face == "inner"
    offset, away = (-inward, thickness) if on_inner else (outward, -thickness)
    built = [_on_built_face(seat, on_inner, thickness) for seat in seats]

    def faces_of(at: Surface, share: Array) -> list[SeatedFace]:
        """The plain face, then what each seat alone makes of it."""
        points, nothing = at.points + (offset * share)[:, None] * at.normals, np.zeros(len(at.points))
        return [SeatedFace(points, at.normals, nothing, nothing), *(seat_face(points, at.normals, seat) for seat in built)]

    def shares_of(at: Surface) -> _Shares:
        """What the wall has of its plain thickness, and its ribs; seats have all of it, and no ribs."""
        if shape is None:
            return _Shares(np.ones(len(at.points)), np.zeros(len(at.points)), np.zeros((len(at.points), 3)))
        asked = shape.share(at.points, at.painted)
        seated = np.max([face.weight for face in faces_of(at, asked)], axis=0)
        height, slope = shape.raised(at.points)
        return _Shares(asked + seated * (1.0 - asked), (1.0 - seated) * height, (1.0 - seated)[:, None] * slope)

    def outer_face_of(at: Surface) -> tuple[Array, Array]:
        """The face that bends most: the one that is built, with its ribs."""
        shares = shares_of(at)
        points, normals = _merged(faces_of(at, shares.plain))
        if shape is None or not shape.ribs:
            return points, normals
        out = shares.rib + (thickness * shares.plain if on_inner else 0.0)
        # less of a slope asks for less fine facets
        slope = (TOLERANCES.chord / RIB_CHORD) * shares.slope
        along = slope - dot_rows(slope, normals)[:, None] * normals
        turned = normals - along
        return points + out[:, None] * normals, turned / np.linalg.norm(turned, axis=1, keepdims=True)

    # the surface itself must bear the step to the face that is seated; that face must then bear the wall
    check_offset(surface, *_both_ways(offset * shares_of(surface).plain))
    surface = refined(surface, TOLERANCES.chord, thickness, outer_face_of)
    shares = shares_of(surface)
    plain, *seated = faces_of(surface, shares.plain)
    _check_seats_apart(seated, seats)
    face, normals = _merged([plain, *seated])
    wall_out, wall_in = _both_ways(away * shares.plain)
    check_offset(Surface(face, normals, surface.triangles), wall_out + shares.rib, wall_in)
    boundary = surface.boundary
    for seat, alone in zip(built, seated, strict=True):
        check_covered(alone, surface.triangles, boundary.vertex, seat, thickness)
    other = face + (away * shares.plain)[:, None] * normals
    for seat, asked, alone in zip(built, seats, seated, strict=True):
        if not asked.solid:
            continue
        if seat is asked:
            left = surface.points + ((offset + away) * shares.plain)[:, None] * surface.normals
            other = _filled(other, -np.sign(away) * alone.lift, left, thickness)
        else:
            face = _filled(face, np.sign(away) * alone.lift, plain.points, thickness)
    outer, inner = (other, face) if on_inner else (face, other)
    outer = outer + shares.rib[:, None] * normals
    mesh, rim = _closed(outer, inner, surface.triangles, boundary, edges)
    weights = tuple(alone.weight for alone in seated)
    return ClosedWall(
        mesh,
        outer,
        inner,
        normals,
        surface.triangles,
        boundary,
        thickness,
        edges,
        rim,
        seats,
        weights,
        thickness * shares.plain + shares.rib,
        shares.rib,
    )


@dataclass(frozen=True, eq=False)
class _Shares:
    """plain : (n,) float, share of the plain thickness; rib : (n,) float, mm, height of ribs over it; slope : (n, 3), its gradient"""

    plain: Array
    rib: Array
    slope: Array


def _both_ways(way: Array) -> tuple[Array, Array]:
    """How far steps (n,) along a normal go outward and how far inward."""
    return np.maximum(way, 0.0), np.maximum(-way, 0.0)


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
                f"the {what} the {'one' if what == 'seat overlaps' else 'blend of the one'} on the {seats[i].called} {format_place(place)}; "
                "make pads or blends smaller or move them apart",
                place,
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
        dot_rows(mesh.area_vectors[: len(triangles)], mesh.area_vectors[len(triangles) : 2 * len(triangles)]) >= 0
    )
    if len(folded):
        place = outer[triangles[folded[0]]].mean(axis=0)
        raise ShapeError(
            f"the wall folds over itself {format_place(place)}; shape it rounder there or make the wall thinner", place
        )
    return mesh, rim
