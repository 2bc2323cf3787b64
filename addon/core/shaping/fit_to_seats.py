# SPDX-License-Identifier: GPL-3.0-or-later
"""Brings the skin to the planes of the further seats."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..clearance.clearance_field import ClearanceField
from ..job.job_sheet import Job
from ..seat.placed_seat import further_seat, mirrored_seat
from ..seat.seat import STEEPEST, Seat
from ..seat.seat_offset import wall_shares
from ..seat.seat_outline import outline_distance
from ..skin.cage import Cage
from ..skin.skin import full_skin, skin
from ..skin.skin_stencil import SkinStencil
from ..skin.stencil_rows import StencilRows
from .guard import guard
from .point_freedom import SeatRows

ROUNDS = 6
STIFFNESS = 0.2
"""How much a cage point's way counts beside that of the skin under a pad: enough that few points move, little enough that the
skin comes to the plane; our choice."""

FARTHEST_MM = 40.0
"""A skin that is farther from a seat's plane is not drawn there; our choice."""

_SETTLED_MM = 0.02


def fit_to_seats(job: Job, cage: Cage, stencil: SkinStencil, field: ClearanceField, held: SeatRows | None = None) -> Cage:
    """The cage with the skin under the pads of the further seats moved to their planes, as far as the clearance allows.

    cage : clear; stencil : of its topology; field : what stays clear; held : points of the mount's seat
    Regularized least squares along each seat's normal, then the guard, a few times over. Seats that no skin is under within
    FARTHEST_MM are left.
    """
    for _ in range(ROUNDS):
        wish = cage.points.copy()
        for seat in _seats_here(job, cage, stencil):
            wish += _moved(job, cage, stencil, seat)
        if cage.topology.mirrored:
            wish[cage.topology.on_plane, 0] = 0.0
        if held is not None:
            wish[held.points] = cage.points[held.points]
        result = guard(cage.points, wish, stencil.position, field, fixed_x=cage.topology.on_plane, rounds=3)
        way = float(np.abs(result.points - cage.points).max())
        cage = replace(cage, points=result.points)
        if not result.clear or way < _SETTLED_MM:
            break
    return cage


def _seats_here(job: Job, cage: Cage, stencil: SkinStencil) -> list[Seat]:
    """The seats that are over the cage itself: of a half, their images where they are on the other side."""
    whole = full_skin(skin(cage, stencil))
    seats = []
    for i, further in enumerate(job.seats):
        seat = further_seat(job, f"seat[{i}]", further, whole.points, whole.normals)
        both = [seat, mirrored_seat(seat)] if further.sides == "both" else [seat]
        if cage.topology.mirrored:
            both = [seat if seat.origin[0] >= 0.0 else mirrored_seat(seat)]
        seats += both
    return seats


def _moved(job: Job, cage: Cage, stencil: SkinStencil, seat: Seat) -> Array:
    """Moves (n, 3) of the cage points, mm, along the seat's normal."""
    own = skin(cage, stencil)
    outward, inward = wall_shares(job.wall)
    face = own.points + (outward if seat.face == "outer" else -inward) * own.normals
    rows = np.flatnonzero(_under(face, own.normals, seat))
    if not len(rows):
        return np.zeros_like(cage.points)
    weights = _along(stencil.position, rows, len(cage.points), seat.normal)
    height = seat.height(face[rows])
    scale = np.sqrt(len(rows))
    system = np.concatenate([weights / scale, STIFFNESS * np.eye(len(cage.points))])
    found = np.linalg.lstsq(system, np.concatenate([-height / scale, np.zeros(len(cage.points))]), rcond=None)[0]
    return np.asarray(found[:, None] * seat.normal)


def _under(face: Array, normals: Array, seat: Seat) -> Mask:
    """Points of a face that lie under the pad and look along the seat: of several sheets there the nearest."""
    distance, _ = outline_distance(seat.in_plane(face), seat.bolts, seat.pad)
    under = (distance <= 0.5 * seat.blend) & (normals @ seat.normal > STEEPEST)
    height = np.abs(seat.height(face))
    nearest = height[under].min(initial=np.inf)
    return np.asarray(under & (height < nearest + seat.pad + seat.blend) & (nearest < FARTHEST_MM))


def _along(rows: StencilRows, chosen: Index, count: int, normal: Array) -> Array:
    """(k, n) how far each skin point moves along a direction for a move of each cage point along it."""
    result = np.zeros((len(chosen), count))
    in_x = float(normal[0] ** 2)
    for number, row in enumerate(chosen.tolist()):
        entries = slice(int(rows.starts[row]), int(rows.starts[row + 1]))
        result[number, rows.index[entries]] = (1.0 - in_x) * rows.weight[entries] + in_x * rows.x_weight[entries]
    return result
