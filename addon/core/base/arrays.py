# SPDX-License-Identifier: GPL-3.0-or-later
"""Array types and the checks at the door of public functions."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Mask = NDArray[np.bool_]


def as_points(values: ArrayLike, name: str = "points") -> Array:
    """(n, 3) float64 copy-free view of finite points.

    Raises ValueError if the shape is not (n, 3) or a value is not finite.
    """
    points = np.ascontiguousarray(values, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 3:
        raise ValueError(f"{name}: shape {points.shape}, expected (n, 3)")
    if not np.isfinite(points).all():
        raise ValueError(f"{name}: holds a value that is not finite")
    return points


def frozen(values: Any, dtype: Any = np.float64) -> NDArray[Any]:
    """A read-only copy, for the fields of frozen dataclasses."""
    copy = np.array(values, dtype=dtype)
    copy.setflags(write=False)
    return copy
