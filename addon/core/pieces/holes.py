# SPDX-License-Identifier: GPL-3.0-or-later
"""Bolt holes through the seat, with their recesses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError
from ..base.format_place import format_place
from ..mesh.barycentric_interpolation import barycentric_interpolation
from ..mesh.triangle_mesh import TriangleMesh, joined
from ..seat.bore import Bore
from ..seat.seat import Seat
from ..tables.bolt_seats import MOST_UNEVEN
from ..wall.closed_wall import ClosedWall
from .stepped_cutter import stepped_cutter

SIDES = 64
"""Corners of a hole; for M12 the flats are within 0.01 mm of the corners' circle."""

PAST_FACE = 1.0
"""How far a cutter stands out of the wall, mm, so that its ends never lie in a face."""

_LEAST_BETWEEN = 0.4
"""Between the broken mouths of two bores, mm, so that their cutters stay apart."""


@dataclass(frozen=True)
class BoltDepth:
    """Depths at one bolt, mm from the bracket's face into the wall: the recess's floor, and the free face from least to most."""

    floor: float
    least: float
    most: float


def hole_cutter(wall: ClosedWall, seat: Seat, bore: Bore, lap_fit: float | None = None) -> TriangleMesh:
    """Cutters at each bolt, square to the seat, no longer than the wall is thick there.

    seat : one of the wall's; lap_fit : fit gap where a lap halves the wall under the bolts, else None
    Raises JobError if two holes meet or a recess leaves too little of the wall.
    """
    _check_apart(seat, bore)
    return joined([_cutter(wall, seat, i, bore, lap_fit) for i in range(len(seat.bolts))])


def bolt_depth(wall: ClosedWall, seat: Seat, index: int, bore: Bore) -> BoltDepth:
    """Depths at a bolt of the seat; the floor of a cone is where it has narrowed to the hole, without recess the free face."""
    depth = _free_depths(wall, seat, index, bore)
    least, most = float(depth.min()), float(depth.max())
    floor = least - bore.depth - (0.5 * (bore.recess - bore.hole) if bore.cone else 0.0)
    return BoltDepth(floor, least, most)


def _cutter(wall: ClosedWall, seat: Seat, index: int, bore: Bore, lap_fit: float | None) -> TriangleMesh:
    at = bolt_depth(wall, seat, index, bore)
    hole, recess = 0.5 * bore.hole, 0.5 * bore.recess
    levels = [(-PAST_FACE, hole)]
    if bore.recess:
        _check_floor(seat, index, bore, at, lap_fit)
        levels += [(at.floor, hole), (at.least - bore.depth, recess)]
    levels += _mouth(at, max(hole, recess), _broken(seat, index, bore, at), levels[-1][0])
    x, forward = bore.slots[index]
    foot = seat.place(seat.bolts[index][None])[0]
    return stepped_cutter(foot, -seat.bracket_side, x * seat.x + forward * seat.forward, levels, SIDES)


def mouth_break(wall: ClosedWall, seat: Seat, bore: Bore) -> float:
    """How far the mouths of all bores of a seat are broken at least, mm; 0 where one of them is left sharp."""
    return min(_broken(seat, index, bore, bolt_depth(wall, seat, index, bore)) for index in range(len(seat.bolts)))


def _broken(seat: Seat, index: int, bore: Bore, at: BoltDepth) -> float:
    """As it should be, but no more than there is wall to the next bore, and not at all in a face too uneven for an even edge."""
    uneven = at.most - at.least
    others = [
        _apart(seat.bolts[index], bore.slots[index], seat.bolts[j], bore.slots[j]) for j in range(len(seat.bolts)) if j != index
    ]
    beside = 0.5 * (min(others, default=np.inf) - bore.widest - _LEAST_BETWEEN) - uneven
    return min(bore.mouth_break, beside) if uneven <= MOST_UNEVEN and beside >= 0.0 else 0.0


def _mouth(at: BoltDepth, radius: float, broken: float, last: float) -> list[tuple[float, float]]:
    """Levels of a cutter from the last one on, `last` deep, out of the free face, wider at 45 degrees from where it is broken."""
    end = at.most + PAST_FACE
    if broken == 0.0:
        return [(end, radius)]
    start = at.least - broken
    wide = radius + at.most - start
    return [*([(start, radius)] if start > last + 1e-9 else []), (at.most, wide), (end, wide)]


def _free_depths(wall: ClosedWall, seat: Seat, index: int, bore: Bore) -> Array:
    """Depths of the free face's points within what is cut or must reach the bolt, and around the edge of that."""
    free = wall.inner if seat.face == "outer" else wall.outer
    triangles = wall.triangles[(wall.weight_of(seat) > 0.5)[wall.triangles].all(axis=1)]
    flat, depth = seat.in_plane(free) - seat.bolts[index], seat.depth(free)
    way, radius = bore.slots[index], 0.5 * max(bore.widest, bore.room)
    reach = radius + np.abs(way)
    corners = flat[triangles]
    near = ((corners.min(axis=1) <= reach) & (corners.max(axis=1) >= -reach)).all(axis=1)
    points = np.unique(triangles[near])
    along = np.clip(flat[points] @ way / max(float(way @ way), 1e-12), -1.0, 1.0)
    within = points[np.linalg.norm(flat[points] - along[:, None] * way, axis=1) <= radius]
    turn = 2.0 * np.pi * np.arange(SIDES) / SIDES
    circle = radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    edge = circle + np.where(circle @ way >= 0.0, 1.0, -1.0)[:, None] * way
    return np.concatenate([depth[within], barycentric_interpolation(edge, corners[near], depth[triangles[near]])[1]])


def _check_floor(seat: Seat, index: int, bore: Bore, at: BoltDepth, lap_fit: float | None) -> None:
    lost = 0.0 if lap_fit is None else 0.5 * (at.least + lap_fit)
    needed = bore.floor + lost
    if at.floor >= needed - 1e-9:
        return
    lap = f", {lost:.2f} mm of it for the half of the lap that lies on the bracket" if lost else ""
    rest = f"leaves {at.floor:.2f} mm" if at.floor > 0.0 else "goes through all"
    raise JobError(
        f"{seat.key}.hardware",
        f"the recess at bolt {index + 1}, {at.least - at.floor:.2f} mm deep, {rest} of the {at.least:.2f} mm that the seat is thick "
        f"there ({format_place(seat.place(seat.bolts[index][None])[0])}), at least {needed:.2f} mm must stay{lap}; make wall.thickness "
        f'larger or wall.seat = "pad", or choose a shallower {seat.key}.hardware or {seat.key}.recess',
        seat.place(seat.bolts[index][None])[0],
    )


def _check_apart(seat: Seat, bore: Bore) -> None:
    for i, bolt in enumerate(seat.bolts):
        for j in range(i):
            apart = _apart(bolt, bore.slots[i], seat.bolts[j], bore.slots[j])
            needed = max(1.5 * bore.hole, bore.recess + bore.floor)
            if apart <= needed:
                raise JobError(
                    f"{seat.key}.bolts",
                    f"bolts {j + 1} and {i + 1} are {apart:.1f} mm apart, their holes of {bore.widest:g} mm need more than "
                    f"{needed:.1f} mm",
                    seat.place(bolt[None])[0],
                )


def _apart(one: Array, one_way: Array, two: Array, two_way: Array) -> float:
    """Least distance of two bolts that each move along a slot: of points a tenth of the ways apart."""
    share = np.linspace(-1.0, 1.0, 21)[:, None]
    return float(np.linalg.norm((one + share * one_way)[:, None] - (two + share * two_way)[None], axis=2).min())
