# SPDX-License-Identifier: GPL-3.0-or-later
"""A surface cut along the zero line of a field over it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..base.row_vectors import cross_rows, dot_rows
from .curved_edge import curved_edge
from .open_surface import Surface, joined_paint
from .refine import halved, order_length, unique_edges

Values = Callable[[Array, Array], Array]
"""(n,) at points (n, 3) with normals (n, 3) of the surface, about a distance along it near 0; negative is cut away."""

MOST_PASSES = 14
SHORTEST = 0.25
"""Edges are not halved below this, mm: a corner of the field stays one."""

SNAP = 0.2
"""Points nearer to the line than this share of the least height of their triangles are moved onto it, so that no slivers come."""

_ON_LINE = 1e-9
_ROOT_STEPS = 60
_MOST_POINTS = 2**31


@dataclass(frozen=True, eq=False)
class _Valued:
    """A surface with the field at its points."""

    surface: Surface
    value: Array


@dataclass(frozen=True, eq=False)
class _Crossings:
    """Where the zero line crosses edges.

    inner, outer : (k,) int, ends with a positive and a negative value; points, normals : (k, 3) float
    paint : (k,) float, None where the surface has none
    """

    inner: Index
    outer: Index
    points: Array
    normals: Array
    paint: Array | None

    def some(self, chosen: Mask) -> _Crossings:
        """Those that are chosen, (k,) bool."""
        paint = None if self.paint is None else self.paint[chosen]
        return _Crossings(self.inner[chosen], self.outer[chosen], self.points[chosen], self.normals[chosen], paint)


def cut_surface(surface: Surface, values: Values, chord: float) -> Surface:
    """What is left of a surface where a field over it is not negative.

    chord : mm, largest distance of the new edge from the zero line between its points, which lie on it
    The surface is made finer along the line, points close to it are moved onto it, and the triangles that it crosses are cut. A
    surface and field that are their own mirror images about x = 0 give one that is. The surface that is left may have no triangle.
    """
    valued = _resolved(surface, values, chord)
    return _kept(*_snapped(valued, _crossings(valued, values)))


def _resolved(surface: Surface, values: Values, chord: float) -> _Valued:
    """The surface with edges halved near the zero line until the field is linear along them to within chord."""
    value = values(surface.points, surface.normals)
    straight = np.zeros(0, np.int64)
    for _ in range(MOST_PASSES):
        pairs, edge_of = unique_edges(surface.triangles, len(surface.points))
        step = np.take(surface.points, pairs[:, 1], axis=0) - np.take(surface.points, pairs[:, 0], axis=0)
        length = np.sqrt(dot_rows(step, step))
        # column by column, which takes a fifth of the time
        (a, b, c), (ab, bc, ca) = (
            np.take(each, rows.T) for each, rows in ((np.abs(value), surface.triangles), (length, edge_of))
        )
        near = np.minimum(np.minimum(a, b), c) <= np.maximum(np.maximum(ab, bc), ca)
        asked = np.zeros(len(pairs), bool)
        asked[edge_of[near]] = True
        # points keep their numbers as edges are halved, so that an edge is measured once
        key = pairs[:, 0] * _MOST_POINTS + pairs[:, 1]
        rows = np.flatnonzero(asked & (length > 2.0 * SHORTEST) & ~np.isin(key, straight))
        off = values(*_on_edges(surface, pairs[rows], np.full(len(rows), 0.5))) - value[pairs[rows]].mean(axis=1)
        halve = np.zeros(len(pairs), bool)
        halve[rows[np.abs(off) > chord]] = True
        straight = np.concatenate([straight, key[rows[np.abs(off) <= chord]]])
        if not halve.any():
            break
        known = len(surface.points)
        surface = halved(surface, pairs, edge_of, halve)
        value = np.concatenate([value, values(surface.points[known:], surface.normals[known:])])
    return _Valued(surface, np.where(np.abs(value) < _ON_LINE, 0.0, value))


def _on_edges(surface: Surface, pairs: Index, share: Array) -> tuple[Array, Array]:
    (p, q), (m, n) = np.moveaxis(surface.points[pairs], 1, 0), np.moveaxis(surface.normals[pairs], 1, 0)
    return curved_edge(p, q, m, n, share)


def _crossings(valued: _Valued, values: Values) -> _Crossings:
    """Roots of the field along the edges of the surface that it changes its sign on (Illinois method, Dowell and Jarratt 1971)."""
    surface, value = valued.surface, valued.value
    pairs, _ = unique_edges(surface.triangles, len(surface.points))
    first = value[pairs]
    pairs = pairs[first[:, 0] * first[:, 1] < 0.0]
    pairs = np.where((value[pairs[:, 0]] > 0.0)[:, None], pairs, pairs[:, ::-1])
    low, high = np.zeros(len(pairs)), np.ones(len(pairs))
    at_low, at_high = value[pairs[:, 0]].copy(), value[pairs[:, 1]].copy()
    share = np.zeros(len(pairs))
    last = np.zeros(len(pairs))
    rows = np.arange(len(pairs))
    for _ in range(_ROOT_STEPS):
        at = np.clip((low * at_high - high * at_low) / (at_high - at_low), low, high)
        share[rows] = at
        now = values(*_on_edges(surface, pairs[rows], at))
        off = np.abs(now) >= _ON_LINE
        if not off.any():
            break
        rows, at, now = rows[off], at[off], now[off]
        low, high, at_low, at_high, last = low[off], high[off], at_low[off], at_high[off], last[off]
        inside = now > 0.0
        sign = np.where(inside, 1.0, -1.0)
        # the end that stays twice counts half, so that both ends close in
        at_high = np.where(inside, np.where(last == sign, 0.5 * at_high, at_high), now)
        at_low = np.where(inside, now, np.where(last == sign, 0.5 * at_low, at_low))
        low, high = np.where(inside, at, low), np.where(inside, high, at)
        last = sign
    return _Crossings(pairs[:, 0], pairs[:, 1], *_on_edges(surface, pairs, share), surface.paint_between(pairs, share))


def _snapped(valued: _Valued, cross: _Crossings) -> tuple[_Valued, _Crossings]:
    """Points close to the zero line moved onto it along the edge that it crosses nearest to them, and the crossings that are left."""
    surface = valued.surface
    ends, others = np.concatenate([cross.inner, cross.outer]), np.concatenate([cross.outer, cross.inner])
    targets, normals = np.tile(cross.points, (2, 1)), np.tile(cross.normals, (2, 1))
    way = order_length(surface.points[ends], targets)
    # points of the mirror plane stay on it
    held = (surface.points[ends, 0] == 0.0) & (surface.points[others, 0] != 0.0)
    close = np.flatnonzero((way < SNAP * _least_height(surface)[ends]) & ~held)
    close = close[np.lexsort([way[close], ends[close]])]
    nearest = close[np.concatenate([[True], np.diff(ends[close]) > 0])[: len(close)]]
    points, point_normals, value = surface.points.copy(), surface.normals.copy(), valued.value.copy()
    points[ends[nearest]], point_normals[ends[nearest]], value[ends[nearest]] = targets[nearest], normals[nearest], 0.0
    paint = surface.paint
    if paint is not None and cross.paint is not None:
        paint = paint.copy()
        paint[ends[nearest]] = np.tile(cross.paint, 2)[nearest]
    left = (value[cross.inner] != 0.0) & (value[cross.outer] != 0.0)
    return _Valued(replace(surface, points=points, normals=point_normals, paint=paint), value), cross.some(left)


def _least_height(surface: Surface) -> Array:
    """(n,) least height of the triangles about each point, mm."""
    a, b, c = np.moveaxis(surface.points[surface.triangles], 1, 0)
    ab, bc, ca = (dot_rows(side, side) for side in (b - a, c - b, a - c))
    doubled = cross_rows(b - a, c - a)
    height = np.sqrt(dot_rows(doubled, doubled) / np.maximum(np.maximum(np.maximum(ab, bc), ca), 1e-300))
    least = np.full(len(surface.points), np.inf)
    np.minimum.at(least, surface.triangles.ravel(), np.repeat(height, 3))
    return least


def _kept(valued: _Valued, cross: _Crossings) -> Surface:
    """The triangles where the field is not negative, those that the line crosses cut."""
    surface, sign = valued.surface, np.sign(valued.value)
    count = len(surface.points)
    points = np.concatenate([surface.points, cross.points])
    normals = np.concatenate([surface.normals, cross.normals])
    keys = cross.inner * count + cross.outer
    order = np.argsort(keys)

    def stop(inner: Index, outer: Index) -> Index:
        """The point where the kept side of an edge ends: its end if that is on the line, else the crossing."""
        spot = np.minimum(np.searchsorted(keys[order], inner * count + outer), max(len(keys) - 1, 0))
        crossing = order[spot] if len(keys) else spot
        return np.where(sign[outer] == 0.0, outer, count + crossing)

    triangles = surface.triangles
    signs = sign[triangles]
    inside = (signs > 0).sum(axis=1)
    whole = (signs.min(axis=1) >= 0) & (inside > 0)
    one = (inside == 1) & ~whole
    two = (inside == 2) & ~whole
    a, b, c = _first(triangles[one], signs[one] > 0).T
    tips = np.stack([a, stop(a, b), stop(a, c)], axis=1)
    c, a, b = _first(triangles[two], signs[two] < 0).T
    near_b, near_a = stop(b, c), stop(a, c)
    along = order_length(points[a], points[near_b]) <= order_length(points[b], points[near_a])
    first = np.where(along[:, None], np.stack([a, b, near_b], axis=1), np.stack([a, b, near_a], axis=1))
    second = np.where(along[:, None], np.stack([a, near_b, near_a], axis=1), np.stack([b, near_b, near_a], axis=1))
    kept = np.concatenate([triangles[whole], tips, first, second])
    used = np.bincount(kept.ravel(), minlength=len(points)) > 0
    paint = joined_paint(surface.paint, cross.paint)
    return Surface(points[used], normals[used], (np.cumsum(used) - 1)[kept], None if paint is None else paint[used])


def _first(triangles: Index, at: Array) -> Index:
    """The triangles, turned so that the corner marked in at (m, 3) bool, one in each, comes first."""
    columns = (np.argmax(at, axis=1)[:, None] + np.arange(3)) % 3
    return np.take_along_axis(triangles, columns, axis=1)
