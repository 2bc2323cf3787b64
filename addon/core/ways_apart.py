# SPDX-License-Identifier: GPL-3.0-or-later
"""Which way each piece is pulled so that the joints between them can be seen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .arrays import Array


def ways_apart(bounds: Sequence[Array]) -> Array:
    """Displacements (n, 3) of n pieces from the middle of them all, the longest of length 1; zero for a single piece.

    bounds : (2, 3) float each, lowest and highest corner of a piece
    """
    middles = np.array([box.mean(axis=0) for box in bounds])
    apart = middles - middles.mean(axis=0)
    longest = float(np.linalg.norm(apart, axis=1).max(initial=0.0))
    return np.asarray(apart / longest if longest > 0.0 else apart)
