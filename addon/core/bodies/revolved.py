# SPDX-License-Identifier: GPL-3.0-or-later
"""The outside of a tire as a mesh to look at."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from ..base.wheel_axes import point_at


def revolved(profile: Array, steps: int = 180) -> tuple[Array, Index, Array]:
    """Points (n, 3), outward quads (q, 4) and unit normals (n, 3) of a profile turned about the axle, both sides.

    profile : (m, 2) float, mm, rows (offset x >= 0, radius), from the crown outward; steps : about the axle
    """
    outward = profile[1:] if profile[0, 0] == 0.0 else profile
    line = np.vstack([profile[::-1] * [-1.0, 1.0], outward])
    around = np.arange(steps) * (360.0 / steps)
    points = point_at(line[:, 1], around[:, None], line[:, 0])
    count = len(line)
    column = np.arange(count - 1)
    this = (np.arange(steps)[:, None] * count + column).ravel()
    following = (np.roll(np.arange(steps), -1)[:, None] * count + column).ravel()
    quads = np.column_stack([this, following, following + 1, this + 1])
    slope = np.gradient(line, axis=0)
    slope /= np.maximum(np.linalg.norm(slope, axis=1, keepdims=True), 1e-12)
    normals = point_at(slope[:, 0], around[:, None], -slope[:, 1])
    return points.reshape(-1, 3), quads, normals.reshape(-1, 3)
