# SPDX-License-Identifier: GPL-3.0-or-later
"""Which way each piece is pulled so that the joints between them can be seen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..base.arrays import Array

_PIN_SHARE = 0.05


def explode_directions(bounds: Sequence[Array]) -> Array:
    """Displacements (n, 3) of n pieces from the middle of them all, the longest of length 1; zero for a single piece.

    bounds : (2, 3) float each, lowest and highest corner of a piece. What is far smaller than the largest, a pin, goes halfway
    between the two pieces that it is nearest to.
    """
    boxes = np.array(bounds, dtype=np.float64).reshape(-1, 2, 3)
    sizes, middles = np.linalg.norm(np.ptp(boxes, axis=1), axis=1), boxes.mean(axis=1)
    large = sizes >= _PIN_SHARE * sizes.max(initial=0.0)
    apart = middles - middles[large].mean(axis=0)
    longest = float(np.linalg.norm(apart[large], axis=1).max(initial=0.0))
    apart = apart / longest if longest > 0.0 else apart
    around = boxes[large]
    for i in np.flatnonzero(~large):
        outside = np.maximum(np.maximum(around[:, 0] - middles[i], middles[i] - around[:, 1]), 0.0)
        between = np.argsort(np.linalg.norm(outside, axis=1), kind="stable")[:2]
        apart[i] = apart[large][between].mean(axis=0)
    return np.asarray(apart)
