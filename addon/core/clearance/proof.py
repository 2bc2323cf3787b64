# SPDX-License-Identifier: GPL-3.0-or-later
"""Proof of the least distance of a triangle mesh to a body, not of its corners only."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, Index, as_points
from ..base.row_vectors import dot_rows
from ..base.tolerances import TOLERANCES
from ..bodies.body import Body

_LARGEST_COUNT = 4_000_000
"""Open pieces at which the search gives up: far more than any tolerance that makes sense needs."""


@dataclass(frozen=True, eq=False)
class Proof:
    """Least distance of a mesh to a body, mm.

    min_mm : the least distance found, at `point` (3,) of the mesh, in triangle number `triangle`
    proven_min_mm : no point of the mesh is nearer than this; min_mm - proven_min_mm is at most the tolerance
    """

    min_mm: float
    proven_min_mm: float
    point: Array
    triangle: int


def proven_clearance(vertices: ArrayLike, triangles: ArrayLike, body: Body, tolerance: float = TOLERANCES.proof) -> Proof:
    """Least signed distance of all points of a triangle mesh to a body, by branch and bound.

    vertices : (v, 3) float, mm, wheel axes; triangles : (t, 3) int, t >= 1; tolerance : mm > 0
    A triangle is dropped when its lower bound shows that it cannot hold a distance lower than the least one found less the
    tolerance; the others are cut in four. Lower bound from the middle c: distance(c) less the way to the farthest corner,
    since the slope of a distance is at most 1; for a convex body also the least value at the corners of the plane that
    supports the distance at c (Boyd and Vandenberghe, Convex Optimization, 3.1.3).
    Raises ValueError if a shape is wrong, an index is out of range, or the tolerance is too small to be reached.
    """
    vertices = as_points(vertices, "vertices")
    triangles = np.asarray(triangles)
    if triangles.ndim != 2 or triangles.shape[1] != 3 or len(triangles) == 0:
        raise ValueError(f"triangles: shape {triangles.shape}, expected (t, 3) with t >= 1")
    if triangles.min() < 0 or triangles.max() >= len(vertices):
        raise ValueError("triangles: an index is outside of the vertices")
    if not tolerance > 0.0:
        raise ValueError(f"tolerance: {tolerance}, expected a length over 0")
    used = np.flatnonzero(np.bincount(triangles.ravel(), minlength=len(vertices)))
    at_used = body.distance(vertices[used])
    first = int(used[at_used.argmin()])
    best, point = float(at_used.min()), vertices[first]
    owner = int(np.argmax(triangles.ravel() == first)) // 3
    number: Index = _near_enough(vertices, triangles, used, at_used, best)
    pieces = vertices[triangles[number]]
    proven = best
    while len(pieces):
        middle = pieces.mean(axis=1)
        distance, gradient = body.distance_and_gradient(middle)
        lowest = int(distance.argmin())
        if distance[lowest] < best:
            best, point, owner = float(distance[lowest]), middle[lowest], int(number[lowest])
        bound = _lower_bound(pieces, middle, distance, gradient if body.convex else None)
        open_ = bound < best - tolerance
        proven = min(proven, float(bound[~open_].min(initial=best)))
        pieces, number = _quartered(pieces[open_]), np.repeat(number[open_], 4)
        if len(pieces) > _LARGEST_COUNT:
            raise ValueError(f"tolerance: {tolerance} mm is too small to be proven for this mesh")
    return Proof(min_mm=best, proven_min_mm=min(best, proven), point=np.array(point), triangle=owner)


def _near_enough(vertices: Array, triangles: Index, used: Index, at_used: Array, best: float) -> Index:
    """Triangles that may hold a lower distance than best, from the distances of their corners and their longest edges."""
    at_vertex = np.zeros(len(vertices))
    at_vertex[used] = at_used
    one, two, three = np.ascontiguousarray(triangles.T)
    a, b, c = (np.take(vertices, corner, axis=0) for corner in (one, two, three))
    longest = np.sqrt(np.maximum(np.maximum(_squared(a - b), _squared(b - c)), _squared(c - a)))
    lowest = np.minimum(np.minimum(at_vertex[one], at_vertex[two]), at_vertex[three])
    # A point of the triangle is no farther from its nearest corner than the longest edge / sqrt(3).
    return np.flatnonzero(lowest - longest * (1.0 / np.sqrt(3.0)) < best)


def _lower_bound(pieces: Array, middle: Array, distance: Array, gradient: Array | None) -> Array:
    corners = pieces - middle[:, None, :]
    farthest: Array = np.sqrt(np.einsum("tij,tij->ti", corners, corners).max(axis=1))
    bound: Array = distance - farthest
    if gradient is not None:
        support = distance + np.einsum("tij,tj->ti", corners, gradient).min(axis=1)
        np.maximum(bound, support, out=bound)
    return bound


def _quartered(pieces: Array) -> Array:
    """(4 t, 3, 3): each triangle cut at the middles of its edges, its parts in a row."""
    a, b, c = pieces[:, 0], pieces[:, 1], pieces[:, 2]
    ab, bc, ca = 0.5 * (a + b), 0.5 * (b + c), 0.5 * (c + a)
    parts = [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
    quarters: Array = np.stack([np.stack(part, axis=1) for part in parts], axis=1)
    return quarters.reshape(-1, 3, 3)


def _squared(vectors: Array) -> Array:
    return np.asarray(dot_rows(vectors, vectors))
