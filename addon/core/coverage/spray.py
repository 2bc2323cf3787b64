# SPDX-License-Identifier: GPL-3.0-or-later
"""Spray: what leaves the tread goes on along the tangent, until the fender or something else is in the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..mesh.section import plane_cut
from ..mesh.triangle_mesh import TriangleMesh

_STEP_DEG = 0.5
_PLANES = 5


@dataclass(frozen=True, eq=False)
class SprayTarget:
    """What is to stay dry. center : (3,) float, mm, wheel axes; radius : of a ball about it, mm"""

    name: str
    center: Array
    radius: float


@dataclass(frozen=True)
class SprayHit:
    """How spray reaches a target. from_deg, to_deg : stations that it leaves the tread at, NaN if none does; kept_off : share of it
    that the fender catches, 0 to 1"""

    name: str
    from_deg: float
    to_deg: float
    kept_off: float


def spray_stations(radius: float, forward: float, up: float, reach: float) -> tuple[float, float] | None:
    """Stations, degrees, from which tangents of the tire in its running direction come within reach of a point beside the axle.

    radius : of the tread, mm; forward, up : of the point, mm from the axle; reach : mm
    At the station t of the point of tangency the line passes |c| cos(s - t) - radius from a point c at station s. None if the
    point is so close to the axle that no tangent reaches it. Rolling forward the tread runs toward higher stations.
    """
    away, station = float(np.hypot(forward, up)), float(np.degrees(np.arctan2(forward, up)))
    if away + reach <= radius:
        return None
    first = station - np.degrees(np.arccos(np.clip((radius - reach) / away, -1.0, 1.0)))
    last = station - np.degrees(np.arccos(np.clip((radius + reach) / away, -1.0, 1.0)))
    return first, last


def spray_hits(fender: TriangleMesh, profile: Array, targets: Sequence[SprayTarget]) -> tuple[SprayHit, ...]:
    """What the spray of the tread does to each target, in planes along the bike.

    fender : closed, wheel axes, mm; profile : (m, 2) float, (x, rho) of the tire as it stands, from the crown outward
    Straight lines, without air and gravity (common practice), from the ground up to the front; each plane in which both tread
    and target lie counts by its tangents.
    """
    return tuple(_hit(fender, profile, target) for target in targets)


def free_station(fender: TriangleMesh, radius: float) -> float:
    """The highest station, degrees, under the fender's rear end whose tangent in the center plane the fender does not catch.

    NaN if the fender catches every tangent behind the top of the tire.
    """
    segments = _segments(fender, 0.0)
    stations = np.arange(-180.0, 0.0, 0.05)
    free = ~_caught(segments, radius, stations, np.full(len(stations), np.inf))
    caught = np.flatnonzero(~free)
    below = stations[: caught[0]] if len(caught) else stations
    return float(below[-1]) if len(below) else float("nan")


def tangent_line(radius: float, station_deg: float, length: float) -> Array:
    """(2, 2) float: (forward, up), mm, from the point of tangency on, in the tread's running direction."""
    turn = np.radians(station_deg)
    start = radius * np.array([np.sin(turn), np.cos(turn)])
    return np.stack([start, start + length * np.array([np.cos(turn), -np.sin(turn)])])


def _hit(fender: TriangleMesh, profile: Array, target: SprayTarget) -> SprayHit:
    """Counts tangents in planes through tread and target; every one that ends in the ball without the fender hits."""
    half = float(profile[:, 0].max())
    low, high = max(target.center[0] - target.radius, -half), min(target.center[0] + target.radius, half)
    total = caught = 0
    reached: list[float] = []
    share = (np.arange(_PLANES) + 0.5) / _PLANES
    for x in low + share * (high - low) if high > low else ():
        reach = float(np.sqrt(target.radius**2 - (x - target.center[0]) ** 2))
        radius = float(np.interp(abs(x), profile[:, 0], profile[:, 1]))
        span = spray_stations(radius, -target.center[1], target.center[2], reach)
        if span is None:
            continue
        # the tread is on the ground at -180
        stations = np.arange(max(span[0], -180.0), min(span[1], 180.0) + 1e-9, _STEP_DEG)
        far = np.sqrt(np.maximum(target.center[1] ** 2 + target.center[2] ** 2 - radius**2, 0.0))
        stopped = _caught(_segments(fender, float(x)), radius, stations, np.full(len(stations), far))
        total, caught = total + len(stations), caught + int(stopped.sum())
        reached += stations[~stopped].tolist()
    if not reached:
        return SprayHit(target.name, float("nan"), float("nan"), 1.0)
    return SprayHit(target.name, min(reached), max(reached), caught / total)


def _segments(fender: TriangleMesh, x: float) -> Array:
    """(k, 2, 2) float: (forward, up) ends of the segments in which the fender meets the plane at x."""
    lines = plane_cut(fender.vertices, fender.triangles, np.array([x, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]))
    flat = [np.column_stack([-line[:, 1], line[:, 2]]) for line in lines]
    pairs = [np.stack([line[:-1], line[1:]], axis=1) for line in flat]
    return np.concatenate(pairs) if pairs else np.zeros((0, 2, 2))


def _caught(segments: Array, radius: float, stations: Array, far: Array) -> Array:
    """(n,) bool: tangents at stations, degrees, that meet a segment before they are far (n,) mm on."""
    turn = np.radians(stations)
    out, way = np.column_stack([np.sin(turn), np.cos(turn)]), np.column_stack([np.cos(turn), -np.sin(turn)])
    stopped = np.zeros(len(stations), bool)
    for begin in range(0, len(stations), 256):
        rows = slice(begin, begin + 256)
        # heights of both ends over the tangent's line, and how far along it they are
        over = np.einsum("kej,nj->nke", segments, out[rows]) - radius
        along = np.einsum("kej,nj->nke", segments, way[rows])
        crosses = (over[..., 0] > 0.0) != (over[..., 1] > 0.0)
        drop = np.where(crosses, over[..., 0] - over[..., 1], 1.0)
        met = along[..., 0] + over[..., 0] / drop * (along[..., 1] - along[..., 0])
        stopped[rows] = (crosses & (met > 0.0) & (met < far[rows, None])).any(axis=1)
    return stopped
