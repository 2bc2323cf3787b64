# SPDX-License-Identifier: GPL-3.0-or-later
"""Axis of revolution from the normals of a surface."""

from __future__ import annotations

import numpy as np

from ..arrays import Array
from .axis import Axis

# All normals of a surface of revolution meet its axis. A line with direction n through p has the Pluecker coordinates
# (n, p x n); it meets the line with direction a through q if a . (p x n) + (q x a) . n = 0, which is linear in (a, q x a).
# Pottmann and Wallner, Computational Line Geometry (2001), 3.1 and 4.2; Pottmann and Randrup, Computing 60 (1998) 307.


def plucker_rows(points: Array, normals: Array) -> Array:
    """Rows (n, 6) of moment p x n and direction n, for the unknowns (a, q x a)."""
    return np.concatenate([np.cross(points, normals), normals], axis=-1)


def axis_of_normals(points: Array, normals: Array, weights: Array) -> Axis:
    """The axis that the (weighted) normal lines come closest to meeting.

    points, normals : (n, 3) float; weights : (n,) float >= 0, of the squared residuals
    Least eigenvector under |a| = 1; the screw part of the complex is dropped, as a surface of revolution has none.
    """
    center = points.mean(axis=0)
    size = float(np.abs(points - center).max()) or 1.0
    rows = plucker_rows((points - center) / size, normals)
    moments = (rows * weights[:, None]).T @ rows
    bend = np.linalg.lstsq(moments[3:, 3:], moments[3:, :3], rcond=1e-12)[0]
    direction = np.linalg.eigh(moments[:3, :3] - moments[:3, 3:] @ bend)[1][:, 0]
    point = feet(direction, -bend @ direction)
    return Axis(center + size * point, direction)


def feet(directions: Array, moments: Array) -> Array:
    """Points (..., 3) nearest the origin of lines with unit directions and moments q x a (..., 3), less any screw part."""
    return np.cross(directions, moments)


def skewness(axis: Axis, points: Array, normals: Array) -> tuple[Array, Array]:
    """How far normals stand out of the plane through axis and point: sine (n,), 0 on a surface of revolution; and the
    radius (n,) of the points."""
    away = points - axis.point
    rho, _ = axis.meridian(points)
    lever = np.cross(axis.direction, away)
    return np.einsum("ij,ij->i", lever, normals) / np.maximum(rho, 1e-9), rho
