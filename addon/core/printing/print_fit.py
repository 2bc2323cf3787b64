# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether a part fits the printer's bed, in whatever orientation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, as_points, frozen

_UPWARDS = 300
"""Directions that are tried as the part's vertical, over the half sphere."""

_TURNS = 45
"""Turns about the vertical that are tried with each, over 180 degrees."""

_EXTREME_DIRECTIONS = 96
_ROUNDS = 8
_STARTS = 6
_FINEST = np.radians(0.05)
_ROUNDING = 1e-9


@dataclass(frozen=True, eq=False)
class PrintFit:
    """How a part lies on the bed.

    rotation : (3, 3) float, takes wheel axes to printer axes (z up); apply it as points @ rotation.T
    size : (3,) float, mm, of the part in that position, exact
    fits : True if size is within the room; fill : greatest ratio of size to room, over 1 if it does not fit
    """

    rotation: Array
    size: Array
    fits: bool
    fill: float


def print_fit(points: Array, bed: tuple[float, float, float], margin: float) -> PrintFit:
    """The orientation that takes least of the printer's room, or, where several fit well, the lowest one of them.

    points : (n, 3) float, mm, vertices of the part; bed : room of the printer along x, y and z, mm
    margin : kept free at each of the four sides of the bed and at the top, mm
    Directions are searched on the points that reach farthest, then refined by halved steps; the extents of the result are
    taken on all points, and points that reach past the ones used are added until the two agree.
    Raises ValueError if the points are not (n, 3) and finite, or if the margin leaves no room.
    """
    points = as_points(points)
    room = np.array([bed[0] - 2 * margin, bed[1] - 2 * margin, bed[2] - margin])
    if room.min() <= 0:
        raise ValueError(f"margin {margin:g} leaves no room on a bed of {bed}")
    columns = np.ascontiguousarray(points.T)
    kept = _extreme(columns, np.concatenate([_half_sphere(_EXTREME_DIRECTIONS), np.eye(3)]))
    rotations = _coarse(points[kept], room)
    for _ in range(_ROUNDS):
        used = points[kept]
        rotations = [_refined(rotation, used, room) for rotation in rotations]
        best = min(rotations, key=lambda rotation: _cost(np.ptp(used @ rotation.T, axis=0), room))
        added = np.setdiff1d(_extreme(columns, best), kept)
        if not len(added):
            break
        kept = np.concatenate([kept, added])
    size = np.ptp(best @ columns, axis=1)
    fill = float((size / room).max())
    return PrintFit(frozen(best), frozen(size), fill <= 1.0 + _ROUNDING, fill)


def _extreme(columns: Array, directions: Array) -> Index:
    """Indices of the points that reach farthest along the directions and against them. columns : (3, n)."""
    found = []
    for direction in directions:
        along = direction @ columns
        found += [int(along.argmin()), int(along.argmax())]
    return np.unique(found)


def _half_sphere(count: int) -> Array:
    """Directions spread evenly over the half sphere z >= 0, by the golden angle."""
    z = (np.arange(count) + 0.5) / count
    angle = np.pi * (3.0 - np.sqrt(5.0)) * np.arange(count)
    flat = np.sqrt(1.0 - z**2)
    return np.stack([flat * np.cos(angle), flat * np.sin(angle), z], axis=1)


def _cost(size: Array, room: Array) -> float:
    """What is made small: over 1 the worst ratio of size to room; where the part fits, the share of the room's height."""
    fill = float((size / room).max())
    return fill if fill > 1.0 + _ROUNDING else float(size[2] / room[2]) - 1.0


def _coarse(points: Array, room: Array) -> list[Array]:
    """The best rotations over a grid of verticals and turns, best first, one for each of the best verticals."""
    verticals = np.concatenate([_half_sphere(_UPWARDS), np.eye(3), _principal_axes(points)])
    height = np.ptp(points @ verticals.T, axis=0)
    one = np.cross(verticals, np.eye(3)[np.argmin(np.abs(verticals), axis=1)])
    one /= np.linalg.norm(one, axis=1, keepdims=True)
    two = np.cross(verticals, one)
    turn = np.pi * np.arange(_TURNS) / _TURNS
    across, along = points @ one.T, points @ two.T
    cost = np.empty((len(verticals), _TURNS))
    for i, angle in enumerate(turn):
        width = np.ptp(np.cos(angle) * across + np.sin(angle) * along, axis=0)
        depth = np.ptp(np.cos(angle) * along - np.sin(angle) * across, axis=0)
        fill = np.maximum(np.maximum(width / room[0], depth / room[1]), height / room[2])
        cost[:, i] = np.where(fill > 1.0 + _ROUNDING, fill, height / room[2] - 1.0)
    best_turn = np.argmin(cost, axis=1)
    best = np.argsort(cost.min(axis=1), kind="stable")[:_STARTS]
    return [_frame(verticals[i], one[i], two[i], turn[best_turn[i]]) for i in best]


def _frame(vertical: Array, one: Array, two: Array, angle: float) -> Array:
    return np.stack([np.cos(angle) * one + np.sin(angle) * two, np.cos(angle) * two - np.sin(angle) * one, vertical])


def _principal_axes(points: Array) -> Array:
    axes: Array = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)[2]
    return axes


def _refined(rotation: Array, points: Array, room: Array) -> Array:
    """The rotation turned about its own axes by halved steps until none helps."""
    step = np.radians(8.0)
    cost = _cost(np.ptp(points @ rotation.T, axis=0), room)
    while step > _FINEST:
        trials = np.concatenate([_turns(step) @ rotation, _turns(-step) @ rotation])
        costs = [_cost(size, room) for size in np.ptp(points @ np.swapaxes(trials, 1, 2), axis=1)]
        best = int(np.argmin(costs))
        if costs[best] < cost - 1e-9:
            rotation, cost = trials[best], costs[best]
        else:
            step *= 0.5
    return rotation


def _turns(angle: float) -> Array:
    """(3, 3, 3) rotations by an angle about x, y and z."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array(
        [[[1, 0, 0], [0, c, -s], [0, s, c]], [[c, 0, s], [0, 1, 0], [-s, 0, c]], [[c, -s, 0], [s, c, 0], [0, 0, 1]]],
        dtype=np.float64,
    )
