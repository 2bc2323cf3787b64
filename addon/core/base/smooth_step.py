# SPDX-License-Identifier: GPL-3.0-or-later
"""The step that blends run on."""

from __future__ import annotations

import numpy as np

from .arrays import Array


def smooth_step(share: Array) -> Array:
    """0 up to share 0, 1 from share 1, between them 6 s^5 - 15 s^4 + 10 s^3: two continuous derivatives.

    share : any shape, float. Perlin, "Improving noise", ACM Trans. Graphics 21(3) (2002).
    """
    s = np.clip(share, 0.0, 1.0)
    return s * s * s * (s * (6.0 * s - 15.0) + 10.0)


def smooth_slope(share: Array) -> Array:
    """Derivative of smooth_step."""
    s = np.clip(share, 0.0, 1.0)
    return np.asarray(30.0 * (s * (1.0 - s)) ** 2)
