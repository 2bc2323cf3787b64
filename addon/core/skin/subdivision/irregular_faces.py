# SPDX-License-Identifier: GPL-3.0-or-later
"""Faces that the host draws as Gregory patches: those that are not regular where it stops to look closer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array, Index, Mask
from .neighborhood_batch import NeighborhoodBatch
from .point_fans import PointFans, point_fans
from .refinement import spoke_ends_and_sharpness


@dataclass(frozen=True, eq=False)
class IrregularFaces:
    """Control points of the irregular faces among the core faces of a batch.

    core, face : (m,) int, row and column in core_faces
    controls : (m, 20, k) float, weights of the control points of a Gregory patch
    """

    core: Index
    face: Index
    controls: Array


@dataclass(frozen=True, eq=False)
class _Spans:
    """For each corner of a face, the faces about its point that its patch depends on: all, or those between sharp edges.

    before, count : (r,) int, faces of the span before this one, and in all; fan row and first column of the span
    closed : all faces around the point; sharp : the point is held; dart : a crease ends here
    """

    row: Index
    low: Index
    before: Index
    count: Index
    closed: Mask
    sharp: Mask
    dart: Mask

    @property
    def regular(self) -> Mask:
        wanted = np.where(self.closed, 4, np.where(self.sharp, 1, 2))
        return np.asarray((self.count == wanted) & ~(self.closed & self.sharp))


def irregular_faces(batch: NeighborhoodBatch) -> IrregularFaces:
    """Find the irregular core faces and their control points; all sharpness in the batch is infinite.

    Control points after OpenSubdiv (Far, Gregory basis end caps): limit positions; edge points from limit tangents scaled
    by the subdominant eigenvalue; face points by the formula of Loop et al. 2009 with the angles of both ends.
    """
    quads = batch.face_starts[batch.core_faces.ravel(), None] + np.arange(4)
    points = np.unique(batch.origin[quads])
    fans = point_fans(batch, points)
    number = np.full(len(batch.weights), -1)
    number[points] = np.arange(len(points))
    spans = _spans(batch, fans, points, number[batch.origin[quads]].ravel(), quads.ravel())
    irregular = np.flatnonzero((~spans.regular | spans.dart).reshape(-1, 4).any(axis=1))
    core, face = np.divmod(irregular, batch.core_faces.shape[1])
    corners = (4 * irregular[:, None] + np.arange(4)).ravel()
    chosen = _Spans(*(getattr(spans, name)[corners] for name in ("row", "low", "before", "count", "closed", "sharp", "dart")))
    return IrregularFaces(core, face, _controls(batch, fans, points, chosen))


def _spans(batch: NeighborhoodBatch, fans: PointFans, points: Index, row: Index, half_edge: Index) -> _Spans:
    _, edge_sharp = spoke_ends_and_sharpness(batch, fans, np.arange(len(points)))
    is_sharp = (edge_sharp > 0.0)[row]
    held = batch.point_sharp[points][row] > 0.0
    number = is_sharp.sum(axis=1)
    count, around = fans.count[row], fans.closed[row]
    at = np.argmax(fans.spokes[row] == half_edge[:, None], axis=1)
    whole = (number == 0) | ((number == 1) & ~held)
    rows = np.arange(len(row))
    low, high = at.copy(), at + 1
    for _ in range(is_sharp.shape[1]):
        low = np.where(whole | is_sharp[rows, low], low, (low - 1) % count)
        high = np.where(around, high % count, high)
        high = np.where(whole | is_sharp[rows, high], high, high + 1)
    size = np.where(around, (high - low) % count, high - low)
    size = np.where(whole | (size == 0), count, size)
    return _Spans(row, low, (at - low) % count, size, whole, held | (number > 2), whole & (number == 1))


def _controls(batch: NeighborhoodBatch, fans: PointFans, points: Index, spans: _Spans) -> Array:
    """Control points (m, 20, k) of faces whose corners are the rows of spans, four a face."""
    width = batch.weights.shape[1]
    corner, plus, minus, turn_plus, turn_minus = (
        values.reshape(-1, 4, width) for values in _corner_points(batch, fans, points, spans)
    )
    angle = np.where(spans.closed, 2.0, 1.0) * np.pi / spans.count
    cosine = np.where(spans.regular & ~spans.sharp, 0.0, np.cos(angle)).reshape(-1, 4, 1)
    face_plus = _face_point(corner, plus, np.roll(minus, -1, axis=1), cosine, np.roll(cosine, -1, axis=1)) + turn_plus
    face_minus = _face_point(corner, minus, np.roll(plus, 1, axis=1), cosine, np.roll(cosine, 1, axis=1)) - turn_minus
    # Beside an edge that is sharp there is only one face point; between two such edges it is that of a bilinear net.
    first = (~spans.closed & (spans.before == 0)).reshape(-1, 4, 1)
    last = (~spans.closed & (spans.before == spans.count - 1)).reshape(-1, 4, 1)
    quad = batch.weights[points[spans.row]].reshape(corner.shape)
    only = (4.0 * quad + 2.0 * np.roll(quad, 1, axis=1) + 2.0 * np.roll(quad, -1, axis=1) + np.roll(quad, 2, axis=1)) / 9.0
    inner_plus = np.where(first & last, only, np.where(first, face_minus, face_plus))
    inner_minus = np.where(first & last, only, np.where(last, face_plus, face_minus))
    return np.asarray(np.stack([corner, plus, minus, inner_plus, inner_minus], axis=2).reshape(-1, 20, width))


def _face_point(corner: Array, near: Array, far: Array, cosine: Array, far_cosine: Array) -> Array:
    """A face point but for the turn of the ring, from the edge points at both ends of its edge and the angles there."""
    point: Array = (far_cosine * corner + (3.0 - 2.0 * cosine - far_cosine) * near + 2.0 * cosine * far) / 3.0
    return point


def _corner_points(batch: NeighborhoodBatch, fans: PointFans, points: Index, spans: _Spans) -> tuple[Array, ...]:
    """For each row of spans the corner point, its edge points and the turns about both edges; each (r, k)."""
    corner, *edges_and_turns = (np.zeros((len(spans.row), batch.weights.shape[1])) for _ in range(5))
    edge_points, turns = edges_and_turns[:2], edges_and_turns[2:]
    kinds = np.stack([spans.count, spans.before, spans.closed, spans.sharp], axis=1)
    different, which = np.unique(kinds, axis=0, return_inverse=True)
    for kind, (count, before, closed, sharp) in enumerate(different.tolist()):
        hit = np.flatnonzero(which.ravel() == kind)
        row = spans.row[hit]
        spokes = fans.spokes[row[:, None], (spans.low[hit, None] + np.arange(count)) % fans.count[row, None]]
        own = batch.weights[points[row]]
        ends, far = _ring(batch, spokes, bool(closed))
        point, tangent = (_closed_limit if closed else _open_limit)(own, ends, far)
        corner[hit] = own if sharp else point
        for side, edge_point, turn in zip((before, before + 1), edge_points, turns, strict=True):
            straight = sharp or (not closed and side in (0, count))
            edge_point[hit] = (2.0 * own + ends[side % len(ends)]) / 3.0 if straight else point + tangent(side)
            if closed or 0 < side < count:
                turn[hit] = _turn(ends, far, side)
    return corner, *edge_points, *turns


def _ring(batch: NeighborhoodBatch, spokes: Index, closed: bool) -> tuple[list[Array], list[Array]]:
    """Weights at the ends of the edges about a point and at the far corners of the faces, counterclockwise."""
    following, weights = batch.following, batch.weights
    ends = [weights[batch.origin[following[spokes[:, i]]]] for i in range(spokes.shape[1])]
    if not closed:
        ends.append(weights[batch.origin[batch.before[spokes[:, -1]]]])
    return ends, [weights[batch.origin[following[following[spokes[:, i]]]]] for i in range(spokes.shape[1])]


def _closed_limit(own: Array, ends: list[Array], far: list[Array]) -> tuple[Array, Callable[[int], Array]]:
    n = len(ends)
    point = (n * own + sum(4.0 * end + opposite for end, opposite in zip(ends, far, strict=True)) / n) / (n + 5.0)
    cosine = np.cos(2.0 * np.pi / n)
    scale = 8.0 / (n * (n + 5.0) * (cosine + 5.0 + np.sqrt((cosine + 9.0) * (cosine + 1.0)))) if n > 2 else 0.0

    def tangent(side: int) -> Array:
        total = np.zeros_like(own)
        for i in range(n):
            piece = 4.0 * ends[i] + 2.0 * (ends[i - 1] + ends[(i + 1) % n]) + far[i] + far[i - 1]
            total += scale * np.cos(2.0 * np.pi * (i - side) / n) * piece
        return total

    return point, tangent


def _open_limit(own: Array, ends: list[Array], far: list[Array]) -> tuple[Array, Callable[[int], Array]]:
    k = len(far)
    point = (4.0 * own + ends[0] + ends[-1]) / 6.0
    theta = np.pi / k
    along = (ends[0] - ends[-1]) / 6.0
    across = np.zeros_like(own)
    if k > 1:
        cosine, sine = np.cos(theta), np.sin(theta)
        across -= 4.0 * sine * own
        across -= (1.0 + 2.0 * cosine) * np.sqrt((1.0 + cosine) / (1.0 - cosine)) * (ends[0] + ends[-1])
        for i in range(k):
            across += (np.sin(i * theta) + np.sin((i + 1) * theta)) * far[i] + 4.0 * np.sin(i * theta) * ends[i]
        across /= 3.0 * (3.0 * k + cosine)

    def tangent(side: int) -> Array:
        return np.asarray(np.cos(side * theta) * along + np.sin(side * theta) * across)

    return point, tangent


def _turn(ends: list[Array], far: list[Array], side: int) -> Array:
    """How the ring turns about an inner edge."""
    following, previous = ends[(side + 1) % len(ends)], ends[side - 1]
    return (following - previous) / 9.0 + (far[side % len(far)] - far[side - 1]) / 18.0
