# SPDX-License-Identifier: GPL-3.0-or-later
"""The low-poly cage that the builder edits, as arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from hashlib import blake2b

import numpy as np

from ..base.arrays import Array, Index, Mask, frozen


@dataclass(frozen=True, eq=False)
class CageTopology:
    """Faces, creases and the mirror of a cage; everything that its stencils depend on.

    face_starts : (f + 1,) int, corners : (c,) int; face i has the points corners[face_starts[i]:face_starts[i + 1]]
    crease_edges : (m, 2) int point indices, creases : (m,) float 0..1 as in the host's edge crease
    point_creases : (n,) float 0..1 as in the host's vertex crease
    mirrored : True if the cage is the half at x >= 0 of a body that is mirrored in x = 0
    on_plane : (n,) bool, points that are one with their mirror image; all False unless mirrored
    keep_corners : True if boundary corners stay sharp (the host's "Keep Corners"), False if they are smoothed ("All")
    """

    point_count: int
    face_starts: Index
    corners: Index
    crease_edges: Index
    creases: Array
    point_creases: Array
    mirrored: bool
    on_plane: Mask
    keep_corners: bool = False
    key: bytes = field(init=False, repr=False)
    """Digest of all fields, for caches."""

    def __post_init__(self) -> None:
        for name, dtype in _FIELDS.items():
            object.__setattr__(self, name, frozen(getattr(self, name), dtype))
        object.__setattr__(self, "crease_edges", self.crease_edges.reshape(-1, 2))
        digest = blake2b(repr((self.point_count, self.mirrored, self.keep_corners)).encode(), digest_size=16)
        for name in _FIELDS:
            digest.update(getattr(self, name).tobytes())
            digest.update(b"|")
        object.__setattr__(self, "key", digest.digest())

    @property
    def face_count(self) -> int:
        return len(self.face_starts) - 1


def same_faces(one: CageTopology, other: CageTopology) -> bool:
    """True if two topologies differ at most in which points lie on the mirror plane."""
    return one.point_count == other.point_count and replace(one, on_plane=other.on_plane).key == other.key


_FIELDS = {
    "face_starts": np.int64,
    "corners": np.int64,
    "crease_edges": np.int64,
    "creases": np.float64,
    "point_creases": np.float64,
    "on_plane": np.bool_,
}


@dataclass(frozen=True, eq=False)
class Cage:
    """A cage: topology and points (n, 3) float, mm, wheel axes.

    paint : (n,) float, 0 to 1, how much of the painted wall each point is to have; None where nothing is painted
    """

    topology: CageTopology
    points: Array
    paint: Array | None = None


def topology_of_faces(
    point_count: int,
    faces: Sequence[Sequence[int]],
    *,
    creases: dict[tuple[int, int], float] | None = None,
    point_creases: dict[int, float] | None = None,
    on_plane: Sequence[bool] | Mask | None = None,
    keep_corners: bool = False,
) -> CageTopology:
    """Topology from lists of point indices, one list a face; mirrored if on_plane is given."""
    creases = creases or {}
    points = np.zeros(point_count)
    for index, value in (point_creases or {}).items():
        points[index] = value
    return CageTopology(
        point_count=point_count,
        face_starts=np.cumsum([0, *(len(face) for face in faces)]),
        corners=np.array([index for face in faces for index in face], dtype=np.int64),
        crease_edges=np.array(list(creases), dtype=np.int64).reshape(-1, 2),
        creases=np.array(list(creases.values()), dtype=np.float64),
        point_creases=points,
        mirrored=on_plane is not None,
        on_plane=np.zeros(point_count, bool) if on_plane is None else np.asarray(on_plane, bool),
        keep_corners=keep_corners,
    )
