# SPDX-License-Identifier: GPL-3.0-or-later
"""Vectors turned about an axis."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .arrays import Array


def turned(vectors: Array, axis: Array, angle: ArrayLike) -> Array:
    """Vectors (n, 3) turned about a unit axis (3,) through the origin by one angle or (n,), radians, right-handed.

    Rodrigues' formula: v cos + (axis x v) sin + axis (axis . v) (1 - cos).
    """
    angles = np.asarray(angle, dtype=np.float64)
    cosine, sine = np.cos(angles)[..., None], np.sin(angles)[..., None]
    along = (vectors @ axis)[:, None] * axis
    return np.asarray(vectors * cosine + np.cross(axis, vectors) * sine + along * (1.0 - cosine))
