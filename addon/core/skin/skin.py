# SPDX-License-Identifier: GPL-3.0-or-later
"""The skin of a cage: points, normals and faces of its limit surface."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask, as_points
from ..base.row_vectors import dot_rows
from .cage import Cage
from .skin_stencil import SkinStencil


@dataclass(frozen=True, eq=False)
class Skin:
    """A quad mesh on the limit surface of a cage.

    points : (p, 3) float, mm, wheel axes
    normals : (p, 3) float, unit, outward; zero where the surface has none, as at a face that has collapsed to a line
    quads : (q, 4) int, counterclockwise seen from outside
    face_of_quad : (q,) int, cage face
    boundary_edges : (b, 2) int, as their quad runs through them; the edges on the mirror plane are not among them
    on_plane : (p,) bool, points on the mirror plane
    half : True if this is the half at x >= 0 of a mirrored cage
    half_point : (p,) int, the point of the half that this is, or is the mirror image of
    paint : (p,) float, 0 to 1, as that of the cage; None where nothing is painted
    """

    points: Array
    normals: Array
    quads: Index
    face_of_quad: Index
    boundary_edges: Index
    on_plane: Mask
    half: bool
    half_point: Index
    paint: Array | None = None


def skin(cage: Cage, stencil: SkinStencil) -> Skin:
    """The skin of a cage; half of it if the cage is mirrored.

    Raises ValueError if the stencil is that of another topology, or a point is not finite.
    """
    if stencil.topology.key != cage.topology.key:
        raise ValueError("stencil: made for another topology than that of the cage")
    points = as_points(cage.points)
    across = np.cross(stencil.tangent_u.apply(points), stencil.tangent_v.apply(points))
    place = stencil.position.apply(points)
    return Skin(
        points=place,
        normals=_normals(across, place, stencil.quads),
        quads=stencil.quads,
        face_of_quad=stencil.face_of_quad,
        boundary_edges=stencil.boundary_edges,
        on_plane=stencil.on_plane,
        half=cage.topology.mirrored,
        half_point=np.arange(len(place)),
        paint=skin_paint(cage, stencil),
    )


def skin_paint(cage: Cage, stencil: SkinStencil) -> Array | None:
    """The paint (p,) float of a cage at the points of its skin; None where nothing is painted."""
    if cage.paint is None:
        return None
    # y and z have the plain weights, those of x are mirrored
    columns = np.repeat(cage.paint[:, None], 3, axis=1)
    return np.clip(stencil.position.apply(columns)[:, 1], 0.0, 1.0)


def full_skin(half: Skin) -> Skin:
    """The skin with its mirror image, welded on the mirror plane; a skin that is no half is returned as it is.

    The points of the half come first. face_of_quad and half_point of the image are those of the half.
    """
    if not half.half:
        return half
    count = len(half.points)
    off_plane = np.flatnonzero(~half.on_plane)
    image = np.arange(count)
    image[off_plane] = count + np.arange(len(off_plane))
    flip = np.array([-1.0, 1.0, 1.0])
    points, normals = half.points.copy(), half.normals.copy()
    points[half.on_plane, 0] = 0.0
    normals[half.on_plane, 0] = 0.0
    normals[half.on_plane] = _unit(normals[half.on_plane])
    return Skin(
        points=np.concatenate([points, points[off_plane] * flip]),
        normals=np.concatenate([normals, normals[off_plane] * flip]),
        quads=np.concatenate([half.quads, image[half.quads[:, [0, 3, 2, 1]]]]),
        face_of_quad=np.tile(half.face_of_quad, 2),
        boundary_edges=np.concatenate([half.boundary_edges, image[half.boundary_edges[:, ::-1]]]),
        on_plane=np.concatenate([half.on_plane, np.zeros(len(off_plane), bool)]),
        half=False,
        half_point=np.concatenate([half.half_point, half.half_point[off_plane]]),
        paint=None if half.paint is None else np.concatenate([half.paint, half.paint[off_plane]]),
    )


def triangles(of: Skin) -> Index:
    """Triangles (2q, 3) of the quads, each cut along its shorter diagonal; triangles 2i and 2i + 1 are quad i."""
    a, b, c, d = (of.points[of.quads[:, corner]] for corner in range(4))
    along_ac = np.square(c - a).sum(axis=1) <= np.square(d - b).sum(axis=1)
    quads = np.where(along_ac[:, None], of.quads, np.roll(of.quads, -1, axis=1))
    return np.asarray(np.stack([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]], axis=1).reshape(-1, 3))


def _unit(vectors: Array) -> Array:
    length = np.sqrt(dot_rows(vectors, vectors))[:, None]
    return np.asarray(vectors / np.where(length > 0.0, length, 1.0))


def _normals(across: Array, points: Array, quads: Index) -> Array:
    """Unit normals from tangent products; from the facets about a point where the tangents are parallel or zero."""
    normals = _unit(across)
    size = dot_rows(across, across)
    flat = size <= 1e-24 * size.max(initial=0.0)
    if flat.any():
        a, b, c, d = (points[quads[:, corner]] for corner in range(4))
        facet = np.cross(c - a, d - b)
        total = np.zeros_like(points)
        for corner in range(4):
            np.add.at(total, quads[:, corner], facet)
        normals[flat] = _unit(total[flat])
    return normals
