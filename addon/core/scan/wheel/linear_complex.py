# SPDX-License-Identifier: GPL-3.0-or-later
"""Axis of revolution from the normals of a surface."""

from __future__ import annotations

import numpy as np

from ...base.arrays import Array
from ...base.row_vectors import dot_rows
from ...fits.directions import across, unit
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
    return dot_rows(lever, normals) / np.maximum(rho, 1e-9), rho


def meridian_step(axis: Axis, points: Array, normals: Array, weights: Array) -> Axis:
    """One Gauss-Newton step of the axis toward the least weighted sum of squares of `skewness`.

    points, normals : (n, 3) float; weights : (n,) float >= 0. The step is cut to 0.2 of the mean radius and 0.2 radians.
    """
    middle = weights @ points / weights.sum()
    axis = axis.at(float((middle - axis.point) @ axis.direction))
    tangents = across(axis.direction)
    sine, rho = skewness(axis, points, normals)
    away = points - axis.point
    lever = np.cross(axis.direction, away) / np.maximum(rho, 1e-9)[:, None]
    side = normals - sine[:, None] * lever
    moved = [-np.cross(axis.direction, tangent) for tangent in tangents]
    columns = [side @ change for change in moved] + [dot_rows(side, np.cross(tangent, away)) for tangent in tangents]
    jacobian = np.stack(columns, axis=1) / np.maximum(rho, 1e-9)[:, None]
    pull = (jacobian * weights[:, None]).T
    step = -np.linalg.lstsq(pull @ jacobian, pull @ sine, rcond=1e-12)[0]
    largest = 0.2 * np.array([1.0, 1.0, 0.0, 0.0]) * float(weights @ rho / weights.sum()) + 0.2 * np.array([0.0, 0.0, 1.0, 1.0])
    step *= min(1.0, float((largest / np.maximum(np.abs(step), 1e-300)).min()))
    return Axis(axis.point + step[:2] @ tangents, unit(axis.direction + step[2:] @ tangents))
