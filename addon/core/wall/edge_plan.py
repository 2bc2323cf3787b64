# SPDX-License-Identifier: GPL-3.0-or-later
"""Which rim stands where along the edges of a fender."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from ..base.arrays import Array, Mask
from ..base.row_vectors import dot_rows
from ..base.wheel_axes import station_of
from ..mesh.open_surface import Boundary
from .rim_profile import RimEdge, half_count, rim_profiles, rim_proud, rim_radius, rim_reach

_STEEPEST = np.cos(np.radians(45.0))
"""An end of the fender faces forward or rearward within this; the rest of its outer edge is a side."""


@dataclass(frozen=True)
class EdgePlan:
    """The rims of the four edges of a fender. run : length over which one becomes the other, mm"""

    front: RimEdge
    rear: RimEdge
    sides: RimEdge
    openings: RimEdge
    run: float = 20.0

    @classmethod
    def all_round(cls, edge: RimEdge) -> EdgePlan:
        """The same rim everywhere."""
        return cls(edge, edge, edge, edge)

    @property
    def edges(self) -> tuple[RimEdge, RimEdge, RimEdge, RimEdge]:
        """In the order of edge_shares."""
        return self.front, self.rear, self.sides, self.openings

    def reach(self, thickness: float) -> float:
        """How far the rims of the outer edge reach past the edge of the skin at most, mm."""
        return max(rim_reach(edge, thickness) for edge in set(self.edges[:3]))

    def far(self, thickness: float) -> float:
        """How far any rim reaches past the edge of the skin, mm."""
        return max(rim_reach(edge, thickness) for edge in set(self.edges))

    def proud(self, thickness: float) -> float:
        """How far any rim stands over the outer face, mm."""
        return max(rim_proud(edge, thickness) for edge in set(self.edges))

    def ball(self, thickness: float) -> float:
        """Radius of the ball about the edge of the wall's middle that holds every rim, mm."""
        return max(rim_radius(edge, thickness) for edge in set(self.edges))

    def profiles(self, boundary: Boundary, middle: Array, across: Array, half: Array, chord: float) -> Array:
        """The section of the rim at each point of the boundary, (b, k, 2) float, mm; see rim_profiles.

        middle : (b, 3) float, middles of the wall; across : (b, 3), unit, outward; half : (b,) mm; chord : mm
        Where edges meet, the points of one section run to those of the other over the length `run`.
        """
        count = max(half_count(edge, 2.0 * float(half.max(initial=0.0)), chord) for edge in self.edges)
        if len(set(self.edges)) == 1:
            return rim_profiles(self.front, half, count)
        shares = edge_shares(boundary, middle, across, self.run)
        return np.asarray(sum(shares[:, i, None, None] * rim_profiles(edge, half, count) for i, edge in enumerate(self.edges)))


def edge_names() -> tuple[str, ...]:
    """The four edges, in the order of edge_shares."""
    return tuple(item.name for item in fields(EdgePlan) if item.name != "run")


def edge_shares(boundary: Boundary, middle: Array, across: Array, run: float) -> Array:
    """How much each point belongs to the front, the rear, the sides and to openings, (b, 4) float, sum 1.

    The longest ring is the outer edge. Its ends are where it crosses the center plane facing forward and rearward. The change
    is smooth (twice averaged over half of run, mm, along the ring).
    """
    shares = np.zeros((len(middle), 4))
    rings = boundary.rings
    lengths = [np.linalg.norm(middle[np.roll(ring, -1)] - middle[ring], axis=1) for ring in rings]
    outer = int(np.argmax([length.sum() for length in lengths])) if rings else -1
    for number, (ring, length) in enumerate(zip(rings, lengths, strict=True)):
        if number != outer:
            shares[ring, 3] = 1.0
            continue
        own = np.zeros((len(ring), 4))
        front, rear = _ends(middle[ring], across[ring])
        own[front, 0] = own[rear, 1] = own[~(front | rear), 2] = 1.0
        for _ in range(2):
            own = _averaged(own, length, min(0.5 * run, 0.25 * length.sum()))
        shares[ring] = own
    return shares


def _ends(middle: Array, across: Array) -> tuple[Mask, Mask]:
    """Points of the outer ring that make its front and its rear end."""
    along = np.roll(middle, -1, axis=0) - np.roll(middle, 1, axis=0)
    out = np.cross(along, across)
    out /= np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-300)
    station = np.radians(station_of(middle))
    forward = np.stack([np.zeros(len(middle)), -np.cos(station), -np.sin(station)], axis=1)
    facing = dot_rows(out, forward)
    return _run_at_center(facing > _STEEPEST, middle), _run_at_center(facing < -_STEEPEST, middle)


def _run_at_center(facing: Mask, middle: Array) -> Mask:
    """Of the runs of a mask along a ring, the one that comes nearest to the center plane."""
    kept = np.zeros(len(facing), bool)
    if not facing.any() or facing.all():
        return facing
    start = int(np.argmin(np.where(facing, np.abs(middle[:, 0]), np.inf)))
    for step in (1, -1):
        at = start
        while facing[at] and not (kept[at] and at != start):
            kept[at] = True
            at = (at + step) % len(facing)
    return kept


def _averaged(values: Array, length: Array, width: float) -> Array:
    """Means of values (n, 4), given at the points of a ring, over a width along it. length : (n,) from each to the next."""
    if width <= 0.0:
        return values
    place = np.concatenate([[0.0], np.cumsum(length)])
    whole = place[-1]
    closed = np.concatenate([values, values[:1]])
    total = np.concatenate([np.zeros((1, 4)), np.cumsum(0.5 * (closed[1:] + closed[:-1]) * length[:, None], axis=0)])

    def until(at: Array) -> Array:
        turns = np.floor(at / whole)
        rest = at - turns * whole
        sums = np.stack([np.interp(rest, place, column) for column in total.T], axis=1)
        return np.asarray(sums + turns[:, None] * total[-1])

    return np.asarray((until(place[:-1] + 0.5 * width) - until(place[:-1] - 0.5 * width)) / width)
