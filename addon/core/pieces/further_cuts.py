# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a half that the bed cannot hold is cut again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ..base.arrays import Array, frozen
from ..base.wheel_axes import station_of
from ..job.job_sheet import Split
from ..mesh.triangle_mesh import connected_components
from ..tables.printed_wall import least_wall
from ..wall.closed_wall import ClosedWall
from .cutters import OVERLAP
from .joint import Joint, key_reach
from .joint_keys import KEY_WIDTH

MOST_PIECES = 6
"""Of one half; more are not worth the glue."""

CLEAR_MM = 6.0
"""From the end of a lap to a seat's blend, an opening or the fender's tip; our choice."""

KEY_CLEAR_MM = 2.0
"""From the end of a lap to a pin or key of the joint along the bike; our choice, so that there is room between them."""

_STEP_DEG = 0.5
_SEATS_APART_DEG = 3.0
"""Seats with less between them are one to the cuts."""


@dataclass(frozen=True, eq=False)
class FurtherCuts:
    """joints : from the rear to the front, normals forward; names : of the pieces from the rear to the front, one more."""

    joints: tuple[Joint, ...]
    names: tuple[str, ...]


def further_cuts(
    points: Array,
    wall: ClosedWall,
    joint: Joint,
    first: bool,
    split: Split,
    nozzle: float,
    taken: Array,
    fits: Callable[[Array], bool],
) -> FurtherCuts | None:
    """The fewest further cuts, square to the wheel at stations, after which all pieces of a half fit; None if none are enough.

    points : (n, 3) float, mm, wheel axes, vertices of the half; joint : through the bolts; first : True for its first piece
    split : whose laps and keys they get; butt joints take the place of laps where can_be_lapped denies them
    taken : (k, 3) float, mm, where pins or keys of the joint through the bolts stand
    fits : whether the bed holds a piece with such points
    The half is divided evenly; cuts keep clear of seats, openings, tips and the joint through the bolts.
    """
    thinnest = float(np.linalg.norm(wall.outer - wall.inner, axis=1).min())
    half_length = 0.5 * split.lap if can_be_lapped(thinnest, joint, nozzle) else 0.0
    keys = key_reach(wall.thickness) if split.locate == "keys" and can_be_halved(thinnest, joint, nozzle) else 0.0
    middle = float(station_of(joint.point))
    stations = _from(middle, points)
    radius = float(np.linalg.norm(points[:, 1:], axis=1).min())
    reach = float(np.degrees((half_length + keys + joint.fit + OVERLAP) / radius))
    clear = reach + float(np.degrees(CLEAR_MM / radius))
    low, high = float(stations.min()), float(stations.max())
    barred = [(low, low), (high, high), *_barred(wall, joint, middle)]
    beside = float(np.degrees((0.5 * KEY_WIDTH * wall.thickness + KEY_CLEAR_MM - CLEAR_MM) / radius))
    barred += [(station - beside, station + beside) for station in _from(middle, taken).tolist()]
    for count in range(2, MOST_PIECES + 1):
        wanted = low + (high - low) * np.arange(1, count) / count
        cuts = _moved_clear(wanted, low, high, [(one - clear, two + clear) for one, two in barred], 2.0 * clear)
        ends = np.concatenate([[low], cuts, [high]])
        pieces = (points[(stations >= one - reach) & (stations <= two + reach)] for one, two in pairwise(ends.tolist()))
        if len(cuts) and all(fits(piece) for piece in pieces):
            joints = tuple(_joint_at(middle + cut, half_length, keys, joint.fit) for cut in cuts.tolist())
            return FurtherCuts(joints, _names(joint.names[0 if first else 1], cuts, joint))
    return None


def can_be_lapped(thickness: float, joint: Joint, nozzle: float) -> bool:
    """True if each half of the wall can be printed, and no lap along the bike crosses the new one in the same layer."""
    return can_be_halved(thickness, joint, nozzle) and (joint.is_across or joint.half_length == 0.0)


def can_be_halved(thickness: float, joint: Joint, nozzle: float) -> bool:
    """True if each half of the wall can be printed, less the fit."""
    return 0.5 * (thickness - joint.fit) >= least_wall(nozzle) - 1e-9


def _from(middle: float, points: Array) -> Array:
    """Stations of points, counted from another one, -180 to 180."""
    return np.asarray(np.mod(station_of(points) - middle + 180.0, 360.0) - 180.0)


def _barred(wall: ClosedWall, joint: Joint, middle: float) -> list[tuple[float, float]]:
    """Spans of stations with a seat each, with the joint through the bolts, and with each opening."""
    points = 0.5 * (wall.outer + wall.inner)
    stations = _from(middle, points)
    seated = np.sort(stations[wall.seat_weight > 0.0])
    found = np.split(seated, np.flatnonzero(np.diff(seated) > _SEATS_APART_DEG) + 1)
    if joint.is_across:
        found.append(
            stations[(np.abs(joint.along(points)) <= joint.half_length + joint.reach + OVERLAP) & (np.abs(stations) < 90.0)]
        )
    rim, count = wall.boundary.vertex, len(wall.boundary.vertex)
    rings = connected_components(count, np.stack([np.arange(count), wall.boundary.after], axis=1))
    sizes = np.bincount(rings, np.linalg.norm(points[rim] - points[rim][wall.boundary.after], axis=1))
    found += [stations[rim[rings == ring]] for ring in np.unique(rings) if ring != int(np.argmax(sizes))]
    return [(float(one.min()), float(one.max())) for one in found if len(one)]


def _moved_clear(wanted: Array, low: float, high: float, barred: list[tuple[float, float]], apart: float) -> Array:
    """Each wanted station, or the nearest one that is not barred; those that come too near to one before are left out."""
    free = np.arange(low, high, _STEP_DEG)
    for one, two in barred:
        free = free[(free < one) | (free > two)]
    cuts: list[float] = []
    for station in wanted.tolist():
        if any(one < station < two for one, two in barred):
            if not len(free):
                continue
            station = float(free[np.argmin(np.abs(free - station))])
        if all(abs(station - cut) >= apart for cut in cuts):
            cuts.append(station)
    return np.array(sorted(cuts))


def _joint_at(station: float, half_length: float, reach: float, fit: float) -> Joint:
    turn = np.radians(station)
    forward = np.array([0.0, -np.cos(turn), -np.sin(turn)])
    return Joint(point=frozen(np.zeros(3)), normal=frozen(forward), half_length=half_length, fit=fit, names=("", ""), reach=reach)


def _names(half: str, cuts: Array, joint: Joint) -> tuple[str, ...]:
    """The piece with the bolts keeps the name of the half, the others are numbered from it outward."""
    behind = int((cuts < 0.0).sum())
    ahead = len(cuts) - behind
    rearward, forward = (half, half) if joint.is_across else (f"{half}_rear", f"{half}_front")
    rear_names = [f"{rearward}_{number}" for number in range(behind + 1, 1, -1)]
    return (*rear_names, half, *(f"{forward}_{number}" for number in range(2, ahead + 2)))


def named(joint: Joint, first: str, second: str) -> Joint:
    """The joint between two pieces, the one ahead of it first."""
    return replace(joint, names=(first, second))
