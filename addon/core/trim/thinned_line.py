# SPDX-License-Identifier: GPL-3.0-or-later
"""A finely sampled line with no more points than it needs."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array


def thinned_line(points: Array, within: float) -> Array:
    """The points (k, 2) of a line (n, 2), n >= 2, both ends among them, that all others are within a distance (mm) of.

    Douglas and Peucker, Algorithms for the reduction of the number of points required to represent a digitized line (1973).
    """
    kept = np.zeros(len(points), bool)
    kept[[0, -1]] = True
    spans = [(0, len(points) - 1)]
    while spans:
        first, last = spans.pop()
        way = points[last] - points[first]
        length2 = float(way @ way)
        between = points[first + 1 : last] - points[first]
        share = np.clip(between @ way / length2, 0.0, 1.0) if length2 > 0.0 else np.zeros(len(between))
        away = np.linalg.norm(between - share[:, None] * way, axis=1)
        if len(away) and away.max() > within:
            middle = first + 1 + int(np.argmax(away))
            kept[middle] = True
            spans += [(first, middle), (middle, last)]
    return np.asarray(points[kept])
