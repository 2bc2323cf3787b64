# SPDX-License-Identifier: GPL-3.0-or-later
"""Wheel axes: origin at the middle of the axle, +X rider's left, -Y forward, +Z up."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .arrays import Array


def point_at(rho: ArrayLike, station_deg: ArrayLike, x: ArrayLike = 0.0) -> Array:
    """Points at radius rho about the axle, at a station (0 at the top, positive toward the front), offset x.

    rho, x : mm, station_deg : degrees; broadcast against each other
    Returns (..., 3) float, mm, wheel axes.
    """
    rho, station, x = np.broadcast_arrays(
        np.asarray(rho, dtype=np.float64), np.radians(np.asarray(station_deg, dtype=np.float64)), np.asarray(x, dtype=np.float64)
    )
    return np.stack([x, -rho * np.sin(station), rho * np.cos(station)], axis=-1)


def radius_of(points: Array) -> Array:
    """Distance of points from the axle line. points : (..., 3) float; returns (...) float, mm."""
    return np.asarray(np.hypot(points[..., 1], points[..., 2]))


def station_of(points: Array) -> Array:
    """Station of points in degrees, -180 to 180. points : (..., 3) float; returns (...) float."""
    return np.asarray(np.degrees(np.arctan2(-points[..., 1], points[..., 2])))
