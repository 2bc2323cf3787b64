# SPDX-License-Identifier: GPL-3.0-or-later
"""Weights of the skin over one face, for each kind of neighborhood that a face can have."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...base.arrays import Array, Index, frozen
from .face_neighborhood import FaceNeighborhood
from .face_pattern import face_pattern
from .gregory_patch import gregory_basis
from .irregular_faces import IrregularFaces, irregular_faces
from .limit import limit_rows
from .neighborhood_batch import NeighborhoodBatch, neighborhood_batch
from .point_fans import point_fans
from .refinement import refined, spoke_ends_and_sharpness
from .sharpness import INFINITE, ISOLATION

_PORTION = 16_000
"""Points of the faces that are subdivided together; found by measurement."""


@dataclass(frozen=True, eq=False)
class FaceBlock:
    """Limit position and tangents of the points over one face.

    position, tangent_u, tangent_v : (p, k) float weights; p points as in the FacePattern of the level, k local points of
        the neighborhood
    """

    position: Array
    tangent_u: Array
    tangent_v: Array


class FaceBlocks:
    """Blocks that were computed before, so that an edit of the cage costs only the faces around it.

    capacity : weights that are kept; the blocks used longest ago are dropped first
    """

    def __init__(self, capacity: int = 16_000_000) -> None:
        self._capacity = capacity
        self._size = 0
        self._known: OrderedDict[tuple[FaceNeighborhood, int], FaceBlock] = OrderedDict()

    def of(self, neighborhoods: Sequence[FaceNeighborhood], level: int) -> dict[FaceNeighborhood, FaceBlock]:
        """The blocks of all neighborhoods at a level >= 1."""
        wanted = dict.fromkeys(neighborhoods)
        missing: dict[int, list[FaceNeighborhood]] = {}
        for neighborhood in wanted:
            if (neighborhood, level) not in self._known:
                missing.setdefault(neighborhood.corner_count, []).append(neighborhood)
        for group in _portions(missing.values(), level):
            for neighborhood, block in zip(group, face_blocks(group, level), strict=True):
                self._known[neighborhood, level] = block
                self._size += 3 * block.position.size
        found = {}
        for neighborhood in wanted:
            self._known.move_to_end((neighborhood, level))
            found[neighborhood] = self._known[neighborhood, level]
        while self._size > self._capacity:
            self._size -= 3 * self._known.popitem(last=False)[1].position.size
        return found


def _portions(groups: Iterable[list[FaceNeighborhood]], level: int) -> Iterator[list[FaceNeighborhood]]:
    """Groups in portions whose points stay in the processor's cache."""
    for group in groups:
        count = max(1, _PORTION // (len(group[0].faces[0]) * 4 ** (level - 1)))
        for first in range(0, len(group), count):
            yield group[first : first + count]


def face_blocks(neighborhoods: Sequence[FaceNeighborhood], level: int) -> list[FaceBlock]:
    """Blocks of neighborhoods whose faces have equally many corners. level >= 1."""
    corner_count = neighborhoods[0].corner_count
    batch = neighborhood_batch(neighborhoods)
    depth = max(level, ISOLATION) if _differs_from_the_limit(batch) else level
    for step in range(depth):
        if step == ISOLATION:
            batch = _as_isolated(batch)
            patches = irregular_faces(batch)
        batch = refined(batch, face_pattern(corner_count, step))
    if depth == ISOLATION:
        batch = _as_isolated(batch)
    points = batch.core_points[:, : face_pattern(corner_count, level).point_count]
    position, tangent_u, tangent_v = limit_rows(batch, points.ravel())
    shape = (*points.shape, -1)
    rows = (position.reshape(shape), tangent_u.reshape(shape), tangent_v.reshape(shape))
    if level > ISOLATION:
        _draw_patches(patches, corner_count, level, rows)
    return [
        FaceBlock(*(frozen(values[i, :, : neighborhood.point_count]) for values in rows))
        for i, neighborhood in enumerate(neighborhoods)
    ]


def _draw_patches(patches: IrregularFaces, corner_count: int, level: int, rows: tuple[Array, Array, Array]) -> None:
    """Put the points of irregular faces on the patch; the tangents at their corners stay those of the limit surface."""
    steps = level - ISOLATION
    square = face_pattern(4, steps)
    quads = face_pattern(corner_count, level).faces.reshape(-1, 4**steps, 4)
    number = np.zeros((len(quads), square.point_count), dtype=np.int64)
    number[:, square.faces] = quads
    for values, basis, first in zip(rows, gregory_basis(steps), (0, 4, 4), strict=True):
        values[patches.core[:, None], number[patches.face][:, first:]] = basis[first:] @ patches.controls


def _differs_from_the_limit(batch: NeighborhoodBatch) -> bool:
    """Whether the host's surface is not the limit surface: where sharpness fades or a crease ends, or at points of the
    boundary in one face only."""
    return bool((batch.sharp > 0.0).any() or (batch.point_sharp > 0.0).any()) or len(_single_face_points(batch)) > 0


def _as_isolated(batch: NeighborhoodBatch) -> NeighborhoodBatch:
    """The batch as the host sees it at the level where it stops to look closer.

    Sharpness that has not faded by then is left out; boundary points in one face only are held where they are.
    """
    point_sharp = np.where(batch.point_sharp < INFINITE, 0.0, batch.point_sharp)
    point_sharp[_single_face_points(batch)] = INFINITE
    points = np.flatnonzero(batch.is_core_point)
    _, sharp = spoke_ends_and_sharpness(batch, point_fans(batch, points), np.arange(len(points)))
    one_lasts = (sharp >= INFINITE).sum(axis=1) == 1
    some_fades = ((sharp > 0.0) & (sharp < INFINITE)).any(axis=1) | (batch.point_sharp[points] > 0.0)
    point_sharp[points[one_lasts & some_fades]] = INFINITE
    return replace(batch, sharp=np.where(batch.sharp < INFINITE, 0.0, batch.sharp), point_sharp=point_sharp)


def _single_face_points(batch: NeighborhoodBatch) -> Index:
    """Points of the core with a boundary edge on both sides of their only face."""
    single = batch.origin[(batch.twin < 0) & (batch.twin[batch.before] < 0)]
    return np.asarray(single[batch.is_core_point[single]])
