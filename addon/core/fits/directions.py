# SPDX-License-Identifier: GPL-3.0-or-later
"""Directions in space as parameters of a fit."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array


def unit(vector: Array) -> Array:
    """Vector (..., 3) divided by its length."""
    return np.asarray(vector / np.linalg.norm(vector, axis=-1, keepdims=True))


def across(direction: Array) -> Array:
    """Two unit vectors, rows of (2, 3), that make a right-handed frame (first, second, direction)."""
    helper = np.zeros(3)
    helper[np.argmin(np.abs(direction))] = 1.0
    first = unit(np.cross(helper, direction))
    return np.stack([first, np.cross(direction, first)])
