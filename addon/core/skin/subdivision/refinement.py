# SPDX-License-Identifier: GPL-3.0-or-later
"""One step of Catmull-Clark subdivision with semi-sharp creases."""

from __future__ import annotations

import numpy as np

from ...base.arrays import Array, Index, Mask
from .face_pattern import FacePattern
from .neighborhood_batch import NeighborhoodBatch
from .point_fans import PointFans, point_fans
from .sharpness import INFINITE


def refined(batch: NeighborhoodBatch, pattern: FacePattern) -> NeighborhoodBatch:
    """The batch one level down; of the ring, only what still touches the core is kept.

    pattern : the FacePattern of the core faces at the level of `batch`
    Rules: Catmull and Clark 1978; creases by DeRose, Kass and Truong 1998, appendix, with the uniform decay of sharpness
    and the blend over fading sharpness of OpenSubdiv (Sdc).
    """
    core = batch.is_core_point
    keep = core[batch.origin]
    ends = batch.origin[batch.following]
    touched = keep | core[ends]
    edge_half = np.flatnonzero(touched & ((batch.twin < 0) | (np.arange(len(batch.twin)) < batch.twin)))
    edge_of = np.full(len(batch.origin), -1)
    edge_of[edge_half] = np.arange(len(edge_half))
    paired = edge_half[batch.twin[edge_half] >= 0]
    edge_of[batch.twin[paired]] = edge_of[paired]

    face_weights = _face_points(batch)
    points = np.flatnonzero(core)
    edge_weights = _edge_points(batch, edge_half, ends, face_weights)
    point_weights = _point_points(batch, points, face_weights)

    point_id = np.full(len(core), -1)
    point_id[points] = np.arange(len(points))
    edge_id = len(points) + edge_of
    face_id = len(points) + len(edge_half) + np.arange(len(face_weights))

    half = np.flatnonzero(keep)
    child = np.full(len(keep), -1)
    child[half] = np.arange(len(half))
    half_before = batch.before[half]
    origin = np.stack([point_id[batch.origin[half]], edge_id[half], face_id[batch.face[half]], edge_id[half_before]], axis=1)
    twins = np.stack(
        [
            _child_half(_at(child, _at(batch.following, batch.twin[half])), 3),
            _child_half(child[batch.following[half]], 2),
            _child_half(child[half_before], 1),
            _child_half(_at(child, batch.twin[half_before]), 0),
        ],
        axis=1,
    )
    faded = _faded(batch.sharp)
    smooth = np.zeros(len(half))
    sharp = np.stack([faded[half], smooth, smooth, faded[half_before]], axis=1)
    quads = np.arange(4 * len(half)).reshape(-1, 4)
    point_sharp = np.zeros(len(points) + len(edge_half) + len(face_weights))
    point_sharp[: len(points)] = _faded(batch.point_sharp)[points]

    core_corner = batch.face_starts[batch.core_faces][..., None] + np.arange(pattern.faces.shape[1])
    core_edges = core_corner[:, pattern.edges[:, 0], pattern.edges[:, 1]]
    return NeighborhoodBatch(
        weights=np.concatenate([point_weights, edge_weights, face_weights]),
        origin=origin.ravel(),
        face=np.repeat(np.arange(len(half)), 4),
        following=np.roll(quads, -1, axis=1).ravel(),
        before=np.roll(quads, 1, axis=1).ravel(),
        twin=twins.ravel(),
        face_starts=np.arange(0, 4 * len(half) + 1, 4),
        sharp=sharp.ravel(),
        point_sharp=point_sharp,
        core_points=np.concatenate([point_id[batch.core_points], edge_id[core_edges], face_id[batch.core_faces]], axis=1),
        core_faces=child[core_corner].reshape(len(core_corner), -1),
    )


def _at(values: Index, index: Index) -> Index:
    """values[index]; -1 for an index of -1."""
    return np.asarray(np.where(index >= 0, values[index], -1))


def _child_half(face: Index, corner: int) -> Index:
    return np.asarray(np.where(face >= 0, 4 * face + corner, -1))


def _faded(sharp: Array) -> Array:
    return np.where(sharp >= INFINITE, sharp, np.maximum(sharp - 1.0, 0.0))


def _face_points(batch: NeighborhoodBatch) -> Array:
    sizes = np.diff(batch.face_starts)
    if (sizes == 4).all():
        a, b, c, d = batch.origin.reshape(-1, 4).T
        quarters: Array = 0.25 * (batch.weights[a] + batch.weights[b] + batch.weights[c] + batch.weights[d])
        return quarters
    return np.asarray(np.add.reduceat(batch.weights[batch.origin], batch.face_starts[:-1], axis=0) / sizes[:, None])


def _edge_points(batch: NeighborhoodBatch, half: Index, ends: Index, face_weights: Array) -> Array:
    sharp = np.minimum(batch.sharp[half], 1.0)
    twin = batch.twin[half]
    sharp[twin < 0] = 1.0
    middle = 0.5 * (batch.weights[batch.origin[half]] + batch.weights[ends[half]])
    smooth: Array = 0.5 * middle + 0.25 * (face_weights[batch.face[half]] + face_weights[batch.face[twin]])
    special = np.flatnonzero(sharp > 0.0)
    blend = sharp[special, None]
    smooth[special] = blend * middle[special] + (1.0 - blend) * smooth[special]
    return smooth


def _point_points(batch: NeighborhoodBatch, points: Index, face_weights: Array) -> Array:
    fans = point_fans(batch, points)
    own = batch.weights[points]
    around = np.zeros_like(own)
    for column in range(fans.spokes.shape[1]):
        rows = np.flatnonzero(fans.count > column)
        spokes = fans.spokes[rows, column]
        piece = batch.weights[batch.origin[batch.following[spokes]]] + face_weights[batch.face[spokes]]
        if len(rows) == len(points):
            around += piece
        else:
            around[rows] += piece
    count = fans.count[:, None].astype(np.float64)
    result: Array = own * (count - 2.0) / count + around / (count * count)
    special = special_points(batch, points, fans)
    if len(special):
        result[special] = _sharp_points(batch, points, fans, special, result[special])
    return result


def special_points(batch: NeighborhoodBatch, points: Index, fans: PointFans) -> Index:
    """Which points lie on a boundary or have any sharpness at or next to them."""
    sharp = ((fans.spokes >= 0) & (batch.sharp[fans.spokes] > 0.0)).any(axis=1)
    return np.flatnonzero(~fans.closed | sharp | (batch.point_sharp[points] > 0.0))


def spoke_ends_and_sharpness(batch: NeighborhoodBatch, fans: PointFans, rows: Index) -> tuple[Index, Array]:
    """Other ends of all edges of some fans, (r, k + 1) int with -1 after the last, and their sharpness (r, k + 1)."""
    spokes = fans.spokes[rows]
    count, closed = fans.count[rows], fans.closed[rows]
    width = spokes.shape[1] + 1
    ends = np.full((len(rows), width), -1)
    sharp = np.zeros((len(rows), width))
    ends[:, :-1] = np.where(spokes >= 0, batch.origin[batch.following[spokes]], -1)
    sharp[:, :-1] = np.where(spokes >= 0, batch.sharp[spokes], 0.0)
    open_rows = np.flatnonzero(~closed)
    last = spokes[open_rows, count[open_rows] - 1]
    ends[open_rows, count[open_rows]] = batch.origin[batch.before[last]]
    sharp[open_rows, count[open_rows]] = INFINITE
    sharp[open_rows, 0] = INFINITE
    return ends, sharp


def _sharp_points(batch: NeighborhoodBatch, points: Index, fans: PointFans, rows: Index, smooth: Array) -> Array:
    ends, sharp = spoke_ends_and_sharpness(batch, fans, rows)
    corner_sharp = batch.point_sharp[points[rows]]
    own = batch.weights[points[rows]]
    later, corner_later = _faded(sharp), _faded(corner_sharp)
    now = _ruled(batch, own, smooth, ends, sharp > 0.0, corner_sharp > 0.0)
    then = _ruled(batch, own, smooth, ends, later > 0.0, corner_later > 0.0)
    fading = (sharp > 0.0) & (later <= 0.0)
    corner_fading = (corner_sharp > 0.0) & (corner_later <= 0.0)
    number = fading.sum(axis=1) + corner_fading
    total = (sharp * fading).sum(axis=1) + corner_sharp * corner_fading
    share = np.where(number > 0, np.minimum(total / np.maximum(number, 1), 1.0), 0.0)
    same = _rule(sharp > 0.0, corner_sharp > 0.0) == _rule(later > 0.0, corner_later > 0.0)
    share = np.where(same, 1.0, share)[:, None]
    return np.asarray(share * now + (1.0 - share) * then)


def _rule(sharp: Mask, corner_sharp: Mask) -> Index:
    """0 smooth (also where one sharp edge ends), 2 crease, 3 corner."""
    number = np.minimum(sharp.sum(axis=1), 3)
    return np.where(corner_sharp, 3, np.where(number == 1, 0, number))


def _ruled(batch: NeighborhoodBatch, own: Array, smooth: Array, ends: Index, sharp: Mask, corner_sharp: Mask) -> Array:
    rule = _rule(sharp, corner_sharp)
    crease = 0.75 * own
    for column in range(ends.shape[1]):
        rows = np.flatnonzero(sharp[:, column] & (rule == 2))
        crease[rows] += 0.125 * batch.weights[ends[rows, column]]
    return np.where((rule == 0)[:, None], smooth, np.where((rule == 2)[:, None], crease, own))
