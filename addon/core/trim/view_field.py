# SPDX-License-Identifier: GPL-3.0-or-later
"""Lines in a view as fields over the skin."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.wheel_axes import radius_of, station_of
from ..mesh.open_surface import Surface
from .plane_line import PlaneLine
from .smooth_curve import smooth_curve
from .trim_edge import Field

_END_DEG = 1.0
_PAST_DEG = 15.0
"""How far past its ends the crown goes on, and what it is continued from."""


def side_field(line: PlaneLine, kept: Array) -> Field:
    """A line in side view, (y, z) from the rider's right; the side that the point kept (3,) is on stays."""
    sign = _sign(line, kept[[1, 2]])

    def field(points: Array, normals: Array) -> tuple[Array, Array]:
        value, gradient = line.distance(points[:, 1:])
        return sign * value, np.column_stack([np.zeros(len(points)), sign * gradient])

    return field


def top_field(line: PlaneLine, kept: Array) -> Field:
    """A line in top view, (x, y), x >= 0 for both sides of the bike; the side that the point kept (3,) is on stays."""
    sign = _sign(line, np.abs(kept[[0, 1]]) * [1.0, 0.0] + kept[[0, 1]] * [0.0, 1.0])

    def field(points: Array, normals: Array) -> tuple[Array, Array]:
        value, gradient = line.distance(np.column_stack([np.abs(points[:, 0]), points[:, 1]]))
        gradient = sign * gradient * np.column_stack([np.sign(points[:, 0]), np.ones(len(points))])
        return sign * value, np.column_stack([gradient, np.zeros(len(points))])

    return field


def drop_field(stations: Array, drops: Array, crown: tuple[Array, Array]) -> Field:
    """An edge that hangs by drops (k,), mm, below the crown of the skin at stations (k,), degrees, measured toward the axle.

    crown : see crown_line; it goes on straight past its ends, since corners of the skin may reach past them. What is farther
    from the axle than the edge stays.
    """
    crown = _straight_past_ends(*crown)

    def field(points: Array, normals: Array) -> tuple[Array, Array]:
        rho, station = radius_of(points), station_of(points)
        height, rise = smooth_curve(*crown, station)
        drop, fall = smooth_curve(stations, drops, station)
        out = points[:, 1:] / rho[:, None]
        # forward is toward greater stations; a degree of station is rho pi / 180
        forward = np.stack([-out[:, 1], out[:, 0]], axis=1)
        gradient = out - (np.degrees(rise - fall) / rho)[:, None] * forward
        return rho - (height - drop), np.column_stack([np.zeros(len(points)), gradient])

    return field


def _straight_past_ends(stations: Array, radii: Array) -> tuple[Array, Array]:
    """The crown with a point more at either end, on the line through its end and what is up to _END_DEG inside of it."""
    low, high = stations[0], stations[-1]
    way = min(_END_DEG, 0.5 * (high - low))
    inner = np.interp([low + way, high - way], stations, radii)
    slopes = np.array([inner[0] - radii[0], radii[-1] - inner[1]]) / way
    ends = np.array([radii[0] - _PAST_DEG * slopes[0], radii[-1] + _PAST_DEG * slopes[1]])
    return np.concatenate([[low - _PAST_DEG], stations, [high + _PAST_DEG]]), np.concatenate([ends[:1], radii, ends[1:]])


def crown_line(surface: Surface) -> tuple[Array, Array]:
    """Stations (k,), degrees, increasing, and radii (k,), mm, of the skin in the center plane; k = 0 if it does not reach it."""
    pairs = np.concatenate([surface.triangles[:, [0, 1]], surface.triangles[:, [1, 2]], surface.triangles[:, [2, 0]]])
    one, other = surface.points[pairs[:, 0]], surface.points[pairs[:, 1]]
    on_plane = surface.points[surface.points[:, 0] == 0.0]
    over = (one[:, 0] < 0.0) & (other[:, 0] > 0.0)
    one, other = one[over], other[over]
    share = one[:, :1] / (one[:, :1] - other[:, :1])
    points = np.concatenate([on_plane, one + share * (other - one)])
    station, radius = np.round(station_of(points), 6), radius_of(points)
    order = np.lexsort([-radius, station])
    station, radius = station[order], radius[order]
    first = np.concatenate([[True], np.diff(station) > 0.0])[: len(station)]
    return station[first], radius[first]


def _sign(line: PlaneLine, kept: Array) -> float:
    return 1.0 if line.distance(kept[None])[0][0] >= 0.0 else -1.0
