# SPDX-License-Identifier: GPL-3.0-or-later
"""A closed cutter of rings one over another: stepped, conical, round or slotted."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..base.arrays import Array
from ..mesh.triangle_mesh import TriangleMesh, outward


def stepped_cutter(foot: Array, axis: Array, way: Array, levels: Sequence[tuple[float, float]], sides: int) -> TriangleMesh:
    """Polygons around the circles (or slots) of each level, joined to a closed body; a hole is never too small.

    foot : (3,) float, mm; axis : (3,) float, unit; way : (3,) float, square to the axis, half of the way of a slot
    levels : (mm along the axis, inscribed radius), in the order of the surface; sides : corners of a circle, even
    """
    rings = foot + np.concatenate([at * axis + _ring(axis, way, radius / np.cos(np.pi / sides), sides) for at, radius in levels])
    count = len(rings) // len(levels)
    here = np.arange(count)
    after = np.roll(here, -1)
    fan = np.stack([np.zeros(count - 2, dtype=np.int64), here[1:-1], here[2:]], axis=1)
    parts = [fan[:, ::-1], fan + (len(levels) - 1) * count]
    for level in range(len(levels) - 1):
        low, high = level * count, (level + 1) * count
        parts += [
            np.stack([here + low, after + low, after + high], axis=1),
            np.stack([here + low, after + high, here + high], axis=1),
        ]
    return outward(TriangleMesh(rings, np.concatenate(parts)))


def _ring(axis: Array, way: Array, radius: float, sides: int) -> Array:
    length = float(np.linalg.norm(way))
    one = way if length > 0.0 else np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    one = one / np.linalg.norm(one)
    if length == 0.0:
        angle, shift = 2.0 * np.pi * np.arange(sides) / sides, np.zeros(sides)
    else:
        half = np.linspace(-0.5 * np.pi, 0.5 * np.pi, sides // 2 + 1)
        angle, shift = np.concatenate([half, half + np.pi]), np.repeat([length, -length], len(half))
    along, across = radius * np.cos(angle) + shift, radius * np.sin(angle)
    return np.asarray(along[:, None] * one + across[:, None] * np.cross(axis, one))
