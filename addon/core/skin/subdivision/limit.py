# SPDX-License-Identifier: GPL-3.0-or-later
"""Limit positions and tangents of the points of a subdivided mesh."""

from __future__ import annotations

import numpy as np

from ...base.arrays import Array, Index, Mask
from .neighborhood_batch import NeighborhoodBatch
from .point_fans import PointFans, point_fans
from .refinement import special_points, spoke_ends_and_sharpness

Limits = tuple[Array, Array, Array]


def limit_rows(batch: NeighborhoodBatch, points: Index) -> Limits:
    """Weights (m, k) of the limit position and of two tangents of points of the core.

    points : (m,) int, each at most once; all faces of the batch have four corners
    Any sharpness left counts as infinite. The cross product of the tangents points outward. On a crease the tangents are
    those of the side of the core face at the point, at a corner the two edges of that face.
    Masks: Halstead, Kass and DeRose 1993 (smooth); Biermann, Levin and Zorin 2000 (boundary, crease); at a point with a
    single smooth boundary face the tangents are the eigenvectors of the same matrix for 1/2 and 1/4.
    """
    fans = point_fans(batch, points)
    position = np.zeros((len(points), batch.weights.shape[1]))
    first, second = np.zeros_like(position), np.zeros_like(position)
    special = special_points(batch, points, fans)
    is_smooth = np.ones(len(points), bool)
    is_smooth[special[_sharp_edges(batch, points, fans, special) > 1]] = False
    for valence in np.unique(fans.count[is_smooth]).tolist():
        rows = np.flatnonzero(is_smooth & (fans.count == valence))
        position[rows], first[rows], second[rows] = _smooth(batch, points[rows], fans.spokes[rows, :valence])
    rows = np.flatnonzero(~is_smooth)
    if len(rows):
        _sharp(batch, points, fans, rows, (position, first, second))
    return position, first, second


def _sharp_edges(batch: NeighborhoodBatch, points: Index, fans: PointFans, rows: Index) -> Index:
    """Number of sharp edges at points; 3 at a corner."""
    _, sharp = spoke_ends_and_sharpness(batch, fans, rows)
    number = (sharp > 0.0).sum(axis=1)
    return np.where(batch.point_sharp[points[rows]] > 0.0, 3, number)


def _smooth(batch: NeighborhoodBatch, points: Index, spokes: Index) -> Limits:
    n = spokes.shape[1]
    weights = batch.weights
    ends = batch.origin[batch.following[spokes]]
    far = batch.origin[batch.following[batch.following[spokes]]]
    if n == 4:
        return _regular(weights[points], [weights[ends[:, i]] for i in range(4)], [weights[far[:, i]] for i in range(4)])
    position = n * n * weights[points]
    first, second = np.zeros_like(position), np.zeros_like(position)
    angle = 2.0 * np.pi / n
    stretch = 1.0 + np.cos(angle) + np.cos(angle / 2.0) * np.sqrt(2.0 * (9.0 + np.cos(angle)))
    for i in range(n):
        end, opposite = weights[ends[:, i]], weights[far[:, i]]
        position += 4.0 * end + opposite
        if n == 2:
            first += end if i == 0 else -end
            second += opposite if i == 0 else -opposite
            continue
        first += stretch * np.cos(i * angle) * end + (np.cos(i * angle) + np.cos((i + 1) * angle)) * opposite
        second += stretch * np.sin(i * angle) * end + (np.sin(i * angle) + np.sin((i + 1) * angle)) * opposite
    return position / (n * (n + 5.0)), first, second


def _regular(own: Array, end: list[Array], far: list[Array]) -> Limits:
    """The masks of valence four, without products that cancel."""
    position = (16.0 * own + 4.0 * (end[0] + end[1] + end[2] + end[3]) + (far[0] + far[1] + far[2] + far[3])) / 36.0
    diagonal, other = far[0] - far[2], far[1] - far[3]
    first = 4.0 * (end[0] - end[2]) + (diagonal - other)
    second = 4.0 * (end[1] - end[3]) + (diagonal + other)
    return position, first, second


def _sharp(batch: NeighborhoodBatch, points: Index, fans: PointFans, rows: Index, into: Limits) -> None:
    position, first, second = into
    weights = batch.weights
    _, sharp = spoke_ends_and_sharpness(batch, fans, rows)
    is_sharp = sharp > 0.0
    corner = (is_sharp.sum(axis=1) > 2) | (batch.point_sharp[points[rows]] > 0.0)
    core_face = np.zeros(len(batch.face_starts) - 1, bool)
    core_face[batch.core_faces.ravel()] = True
    spokes = fans.spokes[rows]
    start = np.argmax((spokes >= 0) & core_face[batch.face[spokes]], axis=1)

    at_corner = np.flatnonzero(corner)
    own = weights[points[rows[at_corner]]]
    spoke = spokes[at_corner, start[at_corner]]
    position[rows[at_corner]] = own
    first[rows[at_corner]] = weights[batch.origin[batch.following[spoke]]] - own
    second[rows[at_corner]] = weights[batch.origin[batch.before[spoke]]] - own

    on_crease = np.flatnonzero(~corner)
    count = fans.count[rows[on_crease]]
    closed = fans.closed[rows[on_crease]]
    low, number = _sectors(is_sharp[on_crease], start[on_crease], count, closed)
    for k in np.unique(number).tolist():
        hit = np.flatnonzero(number == k)
        columns = (low[hit, None] + np.arange(k)) % count[hit, None]
        sector = spokes[on_crease[hit, None], columns]
        into_rows = rows[on_crease[hit]]
        position[into_rows], first[into_rows], second[into_rows] = _crease(batch, weights[points[into_rows]], sector)


def _sectors(is_sharp: Mask, start: Index, count: Index, closed: Mask) -> tuple[Index, Index]:
    """First spoke and number of faces between the two sharp edges on either side of the face at start."""
    rows = np.arange(len(start))
    low, high = start.copy(), start + 1
    for _ in range(is_sharp.shape[1]):
        low = np.where(is_sharp[rows, low], low, (low - 1) % count)
        high = np.where(closed, high % count, high)
        high = np.where(is_sharp[rows, high], high, high + 1)
    return low, np.where(closed, (high - low) % count, high - low)


def _crease(batch: NeighborhoodBatch, own: Array, sector: Index) -> Limits:
    """Tangents along and across a crease from the k faces on one side. sector : (m, k) half-edges, counterclockwise."""
    weights, k = batch.weights, sector.shape[1]
    first_end = weights[batch.origin[batch.following[sector[:, 0]]]]
    last_end = weights[batch.origin[batch.before[sector[:, -1]]]]
    position = (4.0 * own + first_end + last_end) / 6.0
    along = first_end - last_end
    if k == 1:
        return position, along, first_end + last_end - 2.0 * own
    theta = np.pi / k
    ratio = (np.cos(theta) + 1.0) / np.sin(theta)
    across = 4.0 * ratio * (np.cos(theta) - 1.0) * own - ratio * (1.0 + 2.0 * np.cos(theta)) * (first_end + last_end)
    for i in range(k):
        far = weights[batch.origin[batch.following[batch.following[sector[:, i]]]]]
        across += (np.sin(i * theta) + np.sin((i + 1) * theta)) * far
        if i > 0:
            across += 4.0 * np.sin(i * theta) * weights[batch.origin[batch.following[sector[:, i]]]]
    return position, along, across
