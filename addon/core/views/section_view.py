# SPDX-License-Identifier: GPL-3.0-or-later
"""The section at a station as lines and figures: tire, tire at its largest, least allowed line, wall, gaps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..base.tolerances import TOLERANCES
from ..base.wheel_axes import point_at, radius_of
from ..bodies.body import Body
from ..bodies.level_curve import level_curve
from ..wall.skin_wall import Shares
from .view_lines import Gap, Role, ViewLine, upper_part
from .wall_cut import wall_cut

_RAYS = 181
_CENTER_SHARE = 0.5
"""Rays start this share of the crown's radius above the axle."""
_BELOW_MM = 12.0
_STEP_MM = 10.0
"""A section ends so far below the fender's edge, rounded to whole steps so that it does not shiver while shaping."""


@dataclass(frozen=True, eq=False)
class WheelSection:
    """What of a section does not change while the fender is shaped. tire, envelope, required : (n, 2) float, mm, (x, rho)

    body : the tire at its largest
    """

    station_deg: float
    tire: Array
    envelope: Array
    required: Array
    body: Body


@dataclass(frozen=True, eq=False)
class SectionView:
    """lines, gaps in (x, rho), mm; low : rho at which the section is cut off; reached : True if the fender reaches the station"""

    station_deg: float
    lines: tuple[ViewLine, ...]
    gaps: tuple[Gap, ...]
    low: float
    reached: bool


def wheel_section(static: Array, body: Body, required_mm: float, station_deg: float) -> WheelSection:
    """Section of the tire and of what is to be kept from it.

    static : (m, 2) profile of the tire as it stands, (offset, rho) from the crown outward; body : convex, the tire at its largest
    required_mm : from the inner face of the wall to body
    """
    tire = np.vstack([static[::-1], static * [-1.0, 1.0]])
    crown = float(static[0, 1])
    origin = point_at(_CENTER_SHARE * crown, station_deg)
    angle = np.radians(np.linspace(0.0, 180.0, _RAYS))[:, None]
    out = point_at(1.0, station_deg)
    rays = np.cos(angle) * np.array([1.0, 0.0, 0.0]) + np.sin(angle) * out
    envelope, required = (_flat(level_curve(body, level, origin, rays, 3.0 * crown)) for level in (0.0, required_mm))
    return WheelSection(float(station_deg), tire, envelope, required, body)


def section_view(wheel: WheelSection, points: Array, quads: Index, on_plane: Mask, mirrored: bool, shares: Shares) -> SectionView:
    """The section with the fender in it.

    points : (p, 3) float, mm, of the skin; quads : (q, 4); on_plane : (p,) bool; mirrored : the skin is the half at x >= 0
    shares : (outer, inner) mm of wall on each side of the skin, see skin_wall.py
    """
    angle = np.radians(wheel.station_deg)
    ahead = np.array([0.0, -np.cos(angle), -np.sin(angle)])
    out = point_at(1.0, wheel.station_deg)
    cut = wall_cut(points, quads, on_plane, shares, np.zeros(3), ahead)
    outer, inner = ([line for line in lines if (line @ out).mean() > 0.0] for lines in (cut.outer, cut.inner))
    low = _low(wheel, inner)
    lines = [
        ViewLine(Role.TIRE, _down_to(wheel.tire, low)),
        ViewLine(Role.ENVELOPE, upper_part(wheel.envelope, low)),
        ViewLine(Role.REQUIRED, upper_part(wheel.required, low)),
    ]
    for role, found in ((Role.OUTER, outer), (Role.INNER, inner)):
        lines += [ViewLine(role, whole) for line in found for whole in _whole(_flat(line), mirrored)]
    longest = max(inner, key=len, default=None)
    gaps = () if longest is None else _gaps(longest, wheel.body)
    return SectionView(wheel.station_deg, tuple(lines), gaps, low, longest is not None)


def _flat(points: Array) -> Array:
    return np.column_stack([points[:, 0], radius_of(points)])


def _low(wheel: WheelSection, inner: list[Array]) -> float:
    crown = float(wheel.tire[:, 1].max())
    edge = min((float(radius_of(line).min()) for line in inner), default=crown)
    widest = float(wheel.tire[0, 1])
    return float(np.floor(min(widest, edge - _BELOW_MM) / _STEP_MM) * _STEP_MM)


def _down_to(tire: Array, low: float) -> Array:
    """The profile, cut at low, or led straight down to it."""
    upper = upper_part(tire, low)
    return np.vstack([[upper[0, 0], low], upper, [upper[-1, 0], low]])


def _whole(line: Array, mirrored: bool) -> list[Array]:
    """From +x to -x, the half followed by its mirror image: one line with it if they meet in the middle, else two."""
    line = line if line[0, 0] >= line[-1, 0] else line[::-1]
    if not mirrored:
        return [line]
    image = line[::-1] * [-1.0, 1.0]
    return [np.vstack([line, image[1:]])] if abs(line[-1, 0]) < TOLERANCES.on_plane else [line, image]


def _gaps(inner: Array, body: Body) -> tuple[Gap, ...]:
    """Gaps at the crown, at the shoulder (halfway along the face) and at the edge, on the rider's left."""
    line = inner if inner[0, 0] <= inner[-1, 0] else inner[::-1]
    line = line[int(np.abs(line[:, 0]).argmin()) :]
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    places = np.column_stack([np.interp([0.0, 0.5 * way[-1], way[-1]], way, line[:, axis]) for axis in range(3)])
    distance, gradient = body.distance_and_gradient(places)
    at, foot = _flat(places), _flat(places - distance[:, None] * gradient)
    names = ("crown", "shoulder", "edge")
    return tuple(Gap(name, float(mm), a, b) for name, mm, a, b in zip(names, distance, at, foot, strict=True))
