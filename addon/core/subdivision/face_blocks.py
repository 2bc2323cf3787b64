# SPDX-License-Identifier: GPL-3.0-or-later
"""Weights of the skin over one face, for each kind of neighborhood that a face can have."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..arrays import Array, frozen
from .face_neighborhood import FaceNeighborhood
from .face_pattern import face_pattern
from .limit import limit_rows
from .neighborhood_batch import NeighborhoodBatch, neighborhood_batch
from .refinement import refined
from .sharpness import INFINITE, SHARP_LEVELS


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
    """Blocks that were computed before, so that an edit of the cage costs only the faces around it."""

    def __init__(self, capacity: int = 4096) -> None:
        self._capacity = capacity
        self._known: OrderedDict[tuple[FaceNeighborhood, int], FaceBlock] = OrderedDict()

    def of(self, neighborhoods: Sequence[FaceNeighborhood], level: int) -> dict[FaceNeighborhood, FaceBlock]:
        """The blocks of all neighborhoods at a level >= 1."""
        wanted = dict.fromkeys(neighborhoods)
        missing: dict[int, list[FaceNeighborhood]] = {}
        for neighborhood in wanted:
            if (neighborhood, level) not in self._known:
                missing.setdefault(neighborhood.corner_count, []).append(neighborhood)
        for group in missing.values():
            for neighborhood, block in zip(group, face_blocks(group, level), strict=True):
                self._known[neighborhood, level] = block
        found = {}
        for neighborhood in wanted:
            self._known.move_to_end((neighborhood, level))
            found[neighborhood] = self._known[neighborhood, level]
        while len(self._known) > self._capacity:
            self._known.popitem(last=False)
        return found


def face_blocks(neighborhoods: Sequence[FaceNeighborhood], level: int) -> list[FaceBlock]:
    """Blocks of neighborhoods whose faces have equally many corners. level >= 1."""
    corner_count = neighborhoods[0].corner_count
    batch = neighborhood_batch(neighborhoods)
    depth = max(level, _fading_levels(batch))
    for step in range(depth):
        if step == SHARP_LEVELS:
            batch = _without_fading(batch)
        batch = refined(batch, face_pattern(corner_count, step))
    if depth >= SHARP_LEVELS:
        batch = _without_fading(batch)
    points = batch.core_points[:, : face_pattern(corner_count, level).point_count]
    position, tangent_u, tangent_v = limit_rows(batch, points.ravel())
    shape = (*points.shape, -1)
    return [
        FaceBlock(*(frozen(rows[i, :, : neighborhood.point_count]) for rows in blocks))
        for blocks in [(position.reshape(shape), tangent_u.reshape(shape), tangent_v.reshape(shape))]
        for i, neighborhood in enumerate(neighborhoods)
    ]


def _fading_levels(batch: NeighborhoodBatch) -> int:
    values = np.concatenate([batch.sharp, batch.point_sharp])
    values = values[values < INFINITE]
    return min(int(np.ceil(values.max(initial=0.0))), SHARP_LEVELS)


def _without_fading(batch: NeighborhoodBatch) -> NeighborhoodBatch:
    """The host does not look deeper than SHARP_LEVELS for sharpness that fades."""
    return replace(
        batch,
        sharp=np.where(batch.sharp < INFINITE, 0.0, batch.sharp),
        point_sharp=np.where(batch.point_sharp < INFINITE, 0.0, batch.point_sharp),
    )
