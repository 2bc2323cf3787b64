# SPDX-License-Identifier: GPL-3.0-or-later
"""The pull direction that gives a surface the most draft, or, where none is without undercut, the least undercut area."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from ..base.arrays import Array, Index, frozen
from .draft import facet_normals

_BINS = 40
"""Of a face of the cube that normals are counted on: steps of about 2 degrees."""
_CANDIDATES = 1200
_ROUNDS = 6
_MOST_STEPS = 200
_ROUNDING = 1e-12
_LITTLE_DRAFT = np.sin(np.radians(2.0))
_LITTLE_COUNTS = 0.05
"""Area under 2 degrees of draft counts so much against undercut area, so that ties fall to the better draft."""


def pull_direction(points: Array, triangles: Index, further: Array | None = None) -> Array:
    """(3,) float, unit: the best pull of a surface.

    points : (n, 3) float, mm; triangles : (m, 3) int, counterclockwise as seen from the mold
    further : (k, 3) float, unit, normals of faces beside the surface that the mold leaves too, such as a parting face
    Draft over all facets is most along the point of the convex hull of their normals that is nearest to the origin; it is found
    by supporting facets (Wolfe, Finding the nearest point in a polytope, 1976). If the hull holds the origin, every pull has an
    undercut, and the one with the least area of it is searched.
    Raises ValueError if no facet has an area.
    """
    normals, areas = facet_normals(points, triangles)
    if len(areas) == 0:
        raise ValueError("pull direction: expected a facet with an area")
    if further is not None:
        normals = np.concatenate([normals, further])
        areas = np.concatenate([areas, np.full(len(further), areas.mean())])
    nearest = _nearest_of_hull(normals)
    length = float(np.linalg.norm(nearest))
    if length > 1e-6:
        return frozen(nearest / length)
    return frozen(_least_undercut(normals, areas))


def _nearest_of_hull(points: Array) -> Array:
    """The point of the convex hull of points (n, 3) that is nearest to the origin."""
    corral = points[:1]
    nearest: Array = corral[0]
    for _ in range(_MOST_STEPS):
        support = points[int(np.argmin(points @ nearest))]
        squared = float(nearest @ nearest)
        if float(support @ nearest) >= squared - _ROUNDING or squared < _ROUNDING:
            break
        corral, nearest = _nearest_of_few(np.concatenate([corral, support[None]]))
    return np.asarray(nearest)


def _nearest_of_few(points: Array) -> tuple[Array, Array]:
    """The same for up to four points: those of them that span the face it lies in, and the point."""
    if len(points) == 4 and _holds_origin(points):
        return points, np.zeros(3)
    best, chosen = np.inf, points[:1]
    nearest = points[0]
    for count in (1, 2, 3):
        for rows in combinations(range(len(points)), count):
            some = points[list(rows)]
            share = _shares(some)
            if share is None or share.min() < -_ROUNDING:
                continue
            at = share @ some
            length = float(at @ at)
            if length < best - _ROUNDING:
                best, chosen, nearest = length, some, at
    return chosen, nearest


def _shares(points: Array) -> Array | None:
    """Shares (k,), of sum 1, of points (k, 3) in the point of their flat that is nearest to the origin; None if they lie in less."""
    edges = points[1:] - points[0]
    gram = edges @ edges.T
    if len(edges) and np.linalg.det(gram) <= 1e-18:
        return None
    rest = np.linalg.solve(gram, -edges @ points[0]) if len(edges) else np.zeros(0)
    return np.asarray(np.concatenate([[1.0 - rest.sum()], rest]))


def _holds_origin(corners: Array) -> bool:
    edges = (corners[1:] - corners[0]).T
    if abs(np.linalg.det(edges)) < 1e-15:
        return False
    rest = np.linalg.solve(edges, -corners[0])
    return bool(rest.min() >= 0.0 and rest.sum() <= 1.0)


def _least_undercut(normals: Array, areas: Array) -> Array:
    """Of many directions the one with the least undercut area, on counts of the normals, closed in on from a grid."""
    ways, counts = _counted(normals, areas)
    trials = np.concatenate([_sphere(_CANDIDATES), _center_plane(360)])
    spread = np.radians(8.0)
    best = trials[int(np.argmin(_cost(ways, counts, trials)))]
    for _ in range(_ROUNDS):
        around = best + spread * _sphere(160)
        around[:, 0] *= best[0] != 0.0  # what lies in the center plane stays in it
        trials = np.concatenate([best[None], around / np.linalg.norm(around, axis=1, keepdims=True)])
        best = trials[int(np.argmin(_cost(ways, counts, trials)))]
        spread *= 0.5
    return np.asarray(best)


def _cost(ways: Array, counts: Array, trials: Array) -> Array:
    cosine = trials @ ways.T
    return np.asarray((cosine < 0.0) @ counts + _LITTLE_COUNTS * ((cosine < _LITTLE_DRAFT) @ counts))


def _counted(normals: Array, areas: Array) -> tuple[Array, Array]:
    """Mean normals (k, 3) and areas (k,) of the normals that fall in the same cell of a cube."""
    axis = np.argmax(np.abs(normals), axis=1)
    rows = np.arange(len(normals))
    size = np.abs(normals[rows, axis])
    other = np.stack([normals[rows, (axis + 1) % 3], normals[rows, (axis + 2) % 3]], axis=1) / size[:, None]
    cell = np.clip(((other + 1.0) * 0.5 * _BINS).astype(np.int64), 0, _BINS - 1)
    face = 2 * axis + (normals[rows, axis] > 0.0)
    _, spot = np.unique((face * _BINS + cell[:, 0]) * _BINS + cell[:, 1], return_inverse=True)
    counts = np.bincount(spot, areas)
    sums = np.stack([np.bincount(spot, areas * column) for column in normals.T], axis=1)
    return np.asarray(sums / np.linalg.norm(sums, axis=1, keepdims=True)), np.asarray(counts)


def _sphere(count: int) -> Array:
    """Directions (count, 3) evenly over the sphere, by the golden angle."""
    z = 1.0 - (2.0 * np.arange(count) + 1.0) / count
    turn = np.pi * (3.0 - np.sqrt(5.0)) * np.arange(count)
    flat = np.sqrt(1.0 - z**2)
    return np.stack([flat * np.cos(turn), flat * np.sin(turn), z], axis=1)


def _center_plane(count: int) -> Array:
    turn = 2.0 * np.pi * np.arange(count) / count
    return np.stack([np.zeros(count), np.cos(turn), np.sin(turn)], axis=1)
