# SPDX-License-Identifier: GPL-3.0-or-later
"""How a push on the end of a fender, by a stone or a hand, pulls at the wall, and how much of that printed layers bear."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.row_vectors import dot_rows
from ..base.wheel_axes import radius_of, station_of
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.mount import MountFrame

_ALONG_FACE = 0.7
"""Facets that the tongue's direction leaves more steeply than this (sine) are ends and edges, not the wall."""


@dataclass(frozen=True, eq=False)
class TongueLoad:
    """Pull on the wall outside of the seat.

    points : (n, 3) float, mm, wheel axes; directions : (n, 3) float, unit, of the pull, along the tongue in the wall
    levers : (n,) float, distance along the wall to the end that is pushed, over the greatest one
    """

    points: Array
    directions: Array
    levers: Array


@dataclass(frozen=True)
class LayerStrength:
    """kept : strength at the weakest place over that of unlayered material at the root. angle_deg : between the layers' normal
    and the pull there. station_deg : where that is"""

    kept: float
    angle_deg: float
    station_deg: float


def tongue_load(mesh: TriangleMesh, frame: MountFrame) -> TongueLoad:
    """The pull in a piece that is clamped at the seat and pushed at its front or rear end, square to the wall.

    mesh : closed, wheel axes. The bending moment is the push times the distance to the end (a cantilever); a section that is
    the same all along is taken, so that the pull is proportional to it. No points if nothing lies outside of the seat.
    """
    middle, vectors, length = mesh.middles, mesh.area_vectors, mesh.areas
    normals = vectors / np.where(length > 0.0, length, 1.0)[:, None]
    station = station_of(middle)
    turn = np.radians(station)
    tongue = np.stack([np.zeros(len(turn)), -np.cos(turn), -np.sin(turn)], axis=1)
    along = tongue - dot_rows(tongue, normals)[:, None] * normals
    share = np.sqrt(dot_rows(along, along))
    uv, height = frame.to_plane(middle)
    free = (frame.outline_distance(uv) > 0.0) | (np.abs(height) > frame.height)
    kept = np.flatnonzero(free & (share > _ALONG_FACE) & (length > 0.0))
    off = np.mod(station[kept] - float(station_of(frame.origin)) + 180.0, 360.0) - 180.0
    levers = np.zeros(len(kept))
    for side in (off > 0.0, off <= 0.0):
        if side.any():
            reach = np.abs(off[side])
            levers[side] = np.radians(reach.max() - reach) * radius_of(middle[kept[side]])
    greatest = float(levers.max()) if len(levers) else 0.0
    return TongueLoad(middle[kept], along[kept] / share[kept, None], levers / (greatest or 1.0))


def layer_strength(load: TongueLoad, up: Array, ratio: float) -> LayerStrength:
    """How well layers that are square to `up` bear the load.

    up : (3,) float, unit, wheel axes; ratio : strength across the layers over that along them
    Strength at an angle a between pull and the layers' normal: ratio / (cos^2 a + ratio sin^2 a), the formula of R. L. Hankinson
    (US Air Service Information Circular 259, 1921, for the grain of wood), which we take for layers too.
    """
    if not len(load.levers):
        return LayerStrength(1.0, 90.0, 0.0)
    square = (load.directions @ up) ** 2
    use = load.levers * (square + ratio * (1.0 - square)) / ratio
    worst = int(np.argmax(use))
    angle = float(np.degrees(np.arccos(np.sqrt(min(square[worst], 1.0)))))
    return LayerStrength(float(1.0 / use[worst]), angle, float(station_of(load.points[worst])))
