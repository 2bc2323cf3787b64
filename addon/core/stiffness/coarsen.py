# SPDX-License-Identifier: GPL-3.0-or-later
"""A surface of fewer triangles on some of its points: short edges collapse, then edges flip until triangles are fat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..base.row_vectors import dot_rows

_GROWTH = 1.3
"""How much longer edges may collapse from one step to the next."""
_ROUNDS = 4
"""Most rounds of collapses at one length."""
_FLIPS = 2
"""Most rounds of flips after them."""
_LONGEST = 1.8
"""Times the length of edges that collapse that none may become."""
_LEAST_GAIN = 1e-3
"""Sine of how far two opposite angles must be over a half turn for their edge to flip."""
_OFF_BOUNDARY = 0.08
"""Times that length that the boundary may leave its course by."""
_LEAST_FACING = 0.5
"""Cosine between a triangle and the surface at its corners."""
_LEAST_HEIGHT = 0.08
"""Height of a triangle over its longest edge."""


@dataclass(frozen=True, eq=False)
class DenseSurface:
    """points : (n, 3) float, mm; normals : (n, 3) float, unit; lifted : (n, k) float, mm, in which edges are as long as they count

    triangles : (m, 3) int, counterclockwise about the normals; pinned : (n,) bool, points that stay
    """

    points: Array
    normals: Array
    lifted: Array
    triangles: Index
    pinned: Mask


def coarsened(surface: DenseSurface, most: int) -> Index:
    """Triangles (m, 3) on some of the surface's points, at most `most` of them where its shape allows.

    Half-edge collapses of the shortest edges that keep the topology (link condition: T. K. Dey, H. Edelsbrunner, S. Guha,
    D. V. Nekhayev, Topology preserving edge contraction, 1999), many at once as none touches another; Delaunay flips (C. L.
    Lawson, 1977) between them. Ends where nothing more can collapse. Raises ValueError if most is under 1.
    """
    if most < 1:
        raise ValueError(f"most: {most}, allowed is 1 or more")
    draw = np.random.default_rng(0)
    triangles = surface.triangles
    edges = _Edges(triangles, len(surface.points))
    length = float(np.median(_lengths(surface.lifted, edges.pairs)))
    reach = float(np.ptp(surface.lifted, axis=0).max())
    while len(triangles) > most and length < reach:
        for _ in range(_ROUNDS):
            before = len(triangles)
            triangles = _collapsed(surface, triangles, length, draw)
            if len(triangles) <= most or len(triangles) > 0.99 * before:
                break
        triangles = flipped(surface, triangles, draw)
        length *= _GROWTH
    return triangles


class _Edges:
    """The edges of triangles: pairs (e, 2) of points, the lower first; count : (e,) triangles at each."""

    def __init__(self, triangles: Index, points: int) -> None:
        start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
        self._points = points
        self.keys, self.count = np.unique(np.minimum(start, end) * points + np.maximum(start, end), return_counts=True)
        self.pairs: Index = np.stack([self.keys // points, self.keys % points], axis=1)

    def joined(self, one: Index, other: Index) -> Mask:
        """Whether edges run between points."""
        wanted = np.minimum(one, other) * self._points + np.maximum(one, other)
        spot = np.minimum(np.searchsorted(self.keys, wanted), len(self.keys) - 1)
        return np.asarray(self.keys[spot] == wanted)


def _lengths(lifted: Array, pairs: Index) -> Array:
    return np.asarray(np.linalg.norm(lifted[pairs[:, 1]] - lifted[pairs[:, 0]], axis=1))


def _collapsed(surface: DenseSurface, triangles: Index, length: float, draw: np.random.Generator) -> Index:
    """Triangles after one round of collapses of edges shorter than a length."""
    points = len(surface.points)
    edges = _Edges(triangles, points)
    rim = np.zeros(points, bool)
    rim[edges.pairs[edges.count == 1]] = True
    both = np.concatenate([edges.pairs, edges.pairs[:, ::-1]])
    far = np.tile(_lengths(surface.lifted, edges.pairs), 2)
    allowed = (far < length) & ~surface.pinned[both[:, 0]] & (~rim[both[:, 0]] | (np.tile(edges.count, 2) == 1))
    gone, kept = _drawn(both[allowed], far[allowed] * draw.uniform(0.7, 1.3, int(allowed.sum())), edges, points, draw)
    gone, kept = _linked(gone, kept, rim, both, edges)
    target = np.arange(points)
    target[gone] = kept
    sound = np.ones(points, bool)
    sound[_broken(surface, triangles, target, length)] = False
    sound[_off_course(surface, both[np.tile(edges.count, 2) == 1], target, length)] = False
    target = np.where(sound, target, np.arange(points))
    made = target[triangles]
    return np.asarray(made[(made != np.roll(made, 1, axis=1)).all(axis=1)])


def _drawn(pairs: Index, cost: Array, edges: _Edges, points: int, draw: np.random.Generator) -> tuple[Index, Index]:
    """Points that go, no two of them joined, and those that they go to."""
    order = np.lexsort((cost, pairs[:, 0]))
    first = np.unique(pairs[order, 0], return_index=True)[1]
    gone, kept = pairs[order[first]].T
    lot = np.full(points, points, dtype=np.int64)
    lot[gone] = draw.permutation(len(gone))
    least = lot.copy()
    one, other = edges.pairs.T
    np.minimum.at(least, one, lot[other])
    np.minimum.at(least, other, lot[one])
    picked = lot[gone] == least[gone]
    return gone[picked], kept[picked]


def _linked(gone: Index, kept: Index, rim: Mask, both: Index, edges: _Edges) -> tuple[Index, Index]:
    """The collapses that keep the topology: the two ends share only the points opposite their edge, and of those that would
    make the same new edge only one is left."""
    row = np.full(len(rim), -1)
    row[gone] = np.arange(len(gone))
    around = both[row[both[:, 0]] >= 0]
    to, beside = row[around[:, 0]], around[:, 1]
    end = kept[to]
    joined = edges.joined(beside, end)
    shared = np.bincount(to, joined & (beside != end), len(gone))
    fine = shared == np.where(rim[gone], 1, 2)
    new = ~joined & (beside != end)
    key = np.minimum(beside, end)[new] * len(rim) + np.maximum(beside, end)[new]
    _, which, often = np.unique(key, return_inverse=True, return_counts=True)
    makers = to[new]
    first = np.full(len(often), len(gone))
    np.minimum.at(first, which, makers)
    fine[makers[makers != first[which]]] = False
    return gone[fine], kept[fine]


def _broken(surface: DenseSurface, triangles: Index, target: Index, length: float) -> Index:
    """Points whose going would turn a triangle over, or make it thin or long."""
    rows = triangles[(target[triangles] != triangles).any(axis=1)]
    made = target[rows]
    stays = (made != np.roll(made, 1, axis=1)).all(axis=1)
    rows, made = rows[stays], made[stays]
    bad = ~is_sound(surface.points, surface.normals, made)
    sides = np.linalg.norm(surface.lifted[np.roll(made, -1, axis=1)] - surface.lifted[made], axis=2)
    bad |= sides.max(axis=1) > _LONGEST * length
    moving = target[rows] != rows
    return np.asarray(rows[bad][moving[bad]])


def is_sound(points: Array, normals: Array, triangles: Index) -> Mask:
    """(m,) whether triangles look along the normals at their corners, and are not thin. points, normals : (n, 3) float"""
    a, b, c = np.moveaxis(points[triangles], 1, 0)
    across = np.cross(b - a, c - a)
    doubled = np.linalg.norm(across, axis=1)
    longest = np.max([np.linalg.norm(way, axis=1) for way in (b - a, c - b, a - c)], axis=0)
    cosine = np.einsum("ij,ikj->ik", across, normals[triangles]).min(axis=1) / np.maximum(doubled, 1e-300)
    return np.asarray((cosine > _LEAST_FACING) & (doubled > _LEAST_HEIGHT * longest**2))


def _off_course(surface: DenseSurface, rims: Index, target: Index, length: float) -> Index:
    """Points of the boundary that go, but lie off the straight way between their neighbors on it. rims : (r, 2) int, both ways"""
    rims = rims[target[rims[:, 0]] != rims[:, 0]]
    other = rims[target[rims[:, 0]] != rims[:, 1]]
    here, start, end = surface.lifted[other[:, 0]], surface.lifted[other[:, 1]], surface.lifted[target[other[:, 0]]]
    way = end - start
    share = dot_rows(here - start, way) / np.maximum(dot_rows(way, way), 1e-300)
    off = np.linalg.norm(here - start - np.clip(share, 0.0, 1.0)[:, None] * way, axis=1)
    return np.asarray(other[off > _OFF_BOUNDARY * length, 0])


def flipped(surface: DenseSurface, triangles: Index, draw: np.random.Generator) -> Index:
    """The triangles with edges flipped where the two opposite angles sum to over a half turn."""
    triangles = triangles.copy()
    for _ in range(_FLIPS):
        if not _flip_some(surface, triangles, draw):
            break
    return triangles


def _flip_some(surface: DenseSurface, triangles: Index, draw: np.random.Generator) -> bool:
    """Flip edges in place, at most one of a triangle; whether any was."""
    points = len(surface.points)
    start, end, apex = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel(), np.roll(triangles, 1, axis=1).ravel()
    keys = start * points + end
    order = np.argsort(keys)
    spot = np.minimum(np.searchsorted(keys[order], end * points + start), len(keys) - 1)
    back = order[spot]
    forth = np.flatnonzero((keys[back] == end * points + start) & (start < end))
    back = back[forth]
    a, b, c, d = start[forth], end[forth], apex[forth], apex[back]
    one, other = forth // 3, back // 3
    open_ = np.flatnonzero(_over_half_turn(surface.lifted, a, b, c, d))
    a, b, c, d, one, other = (each[open_] for each in (a, b, c, d, one, other))
    wanted = (c != d) & ~_Edges(triangles, points).joined(c, d)
    for made in (np.stack([a, d, c], axis=1), np.stack([d, b, c], axis=1)):
        wanted &= is_sound(surface.points, surface.normals, made)
    lot = np.where(wanted, draw.permutation(len(wanted)) + 1, 0)
    best = np.zeros(len(triangles), np.int64)
    np.maximum.at(best, one, lot)
    np.maximum.at(best, other, lot)
    picked = np.flatnonzero((lot > 0) & (lot == best[one]) & (lot == best[other]))
    ends = np.sort(np.stack([c[picked], d[picked]], axis=1), axis=1)
    picked = picked[np.unique(ends, axis=0, return_index=True)[1]]
    triangles[one[picked]] = np.stack([a[picked], d[picked], c[picked]], axis=1)
    triangles[other[picked]] = np.stack([d[picked], b[picked], c[picked]], axis=1)
    return len(picked) > 0


def _over_half_turn(places: Array, a: Index, b: Index, c: Index, d: Index) -> Mask:
    """Whether the angles at c and d over the edge a b sum to more than a half turn, with a margin."""
    cosine, sine = [], []
    for apex in (c, d):
        one, two = places[a] - places[apex], places[b] - places[apex]
        cosine.append(dot_rows(one, two))
        square = dot_rows(one, one) * dot_rows(two, two)
        sine.append(np.sqrt(np.maximum(square - cosine[-1] ** 2, 0.0)))
    size = np.hypot(cosine[0], sine[0]) * np.hypot(cosine[1], sine[1])
    return np.asarray(sine[0] * cosine[1] + cosine[0] * sine[1] < -_LEAST_GAIN * size)
