# SPDX-License-Identifier: GPL-3.0-or-later
"""How wide a flange may be where its edge is hollow, so that it does not run into itself."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from ..base.row_vectors import dot_rows

_APART = 0.75
"""The end of a flange stays off all other places of the edge by this share of its width."""
_SLOPE = 0.5
"""The width changes by no more than this over a length of the edge."""
_STEPS = 24


def free_widths(base: Array, way: Array, after: Index, wanted: float) -> Array:
    """(s,) float, mm: widths up to the wanted one at which the flange stays clear of the rest of the edge.

    base : (s, 3) float, mm, where the flange begins; way : (s, 3) float, unit, where it runs; after : (s,) int, next section
    """
    width = np.full(len(base), wanted)
    for share in np.linspace(1.0, 0.0, _STEPS, endpoint=False):
        trial = wanted * share
        open_ = np.flatnonzero(width >= trial - 1e-9)
        if len(open_) == 0:
            break
        ends = base[open_] + trial * way[open_]
        apart = np.sqrt(np.maximum(_least_squared(ends, base), 0.0))
        short = open_[apart < _APART * trial]
        width[short] = wanted * max(share - 1.0 / _STEPS, 0.0)
    return _sloped(np.minimum(width, _uncrossed(base, way, after, wanted)), base, after)


def _least_squared(ends: Array, base: Array) -> Array:
    size = dot_rows(base, base)
    return np.asarray((dot_rows(ends, ends)[:, None] - 2.0 * ends @ base.T + size[None, :]).min(axis=1))


def _uncrossed(base: Array, way: Array, after: Index, wanted: float) -> Array:
    """Widths at which the ends of neighbors, near and farther ones, still go forward along the edge, by a share of its own way."""
    width = np.full(len(base), wanted)
    other = after
    for _ in range(_LAGS):
        step = base[other] - base
        length = np.linalg.norm(step, axis=1)
        ahead = step / np.maximum(length, 1e-12)[:, None]
        closing = -dot_rows(way[other] - way, ahead)
        narrow = (closing > 1e-9) & (length > 1e-9) & (length < _FARTHEST_MM)
        limit = np.where(narrow, (1.0 - _FORWARD) * length / np.maximum(closing, 1e-9), wanted)
        width = np.minimum(width, limit)
        np.minimum.at(width, other, limit)
        other = other[other]  # twice as far along
    return width


_LAGS = 6
"""Neighbors at 1, 2, 4 to 32 sections: one step alone is as rough as the trim's edge."""
_FARTHEST_MM = 15.0
_FORWARD = 0.45
"""Share of the edge's way that the ends of a flange keep in a hollow."""


def _sloped(width: Array, base: Array, after: Index) -> Array:
    """The widths, none more over those of its neighbors than the slope allows."""
    length = np.linalg.norm(base[after] - base, axis=1)
    width = width.copy()
    for first in _ring_starts(after):
        order = _ring(after, first)
        at = int(np.argmin(width[order]))
        order = np.roll(order, -at)
        for here, there, way in zip(order, np.roll(order, -1), length[order], strict=True):
            width[there] = min(width[there], width[here] + _SLOPE * way)
        for here, there in zip(order[::-1], np.roll(order, 1)[::-1], strict=True):
            width[there] = min(width[there], width[here] + _SLOPE * length[there])
    return width


def _ring_starts(after: Index) -> list[int]:
    left = np.ones(len(after), bool)
    starts = []
    for first in range(len(after)):
        if left[first]:
            starts.append(first)
            left[_ring(after, first)] = False
    return starts


def _ring(after: Index, first: int) -> Index:
    ring = [first]
    while (follower := int(after[ring[-1]])) != first:
        ring.append(follower)
    return np.array(ring)
