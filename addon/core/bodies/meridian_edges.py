# SPDX-License-Identifier: GPL-3.0-or-later
"""The edges of a convex meridian, and the exact search along them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Array, Index

Complex = NDArray[np.complex128]
"""Places x + i rho in the quarter plane x >= 0, rho >= 0."""

_BLOCK_VALUES = 1 << 16
"""Products of points and edges handled at a time."""


@dataclass(frozen=True, eq=False)
class MeridianEdges:
    """Edges in order from the crown to the axle, in complex numbers x + i rho.

    corner : (m + 1,) complex; edge j runs from corner j to corner j + 1
    turn, origin : (m,) complex; turn * place - origin = distance along the edge from its middle + i * height over its line.
        The outward normal of the edge is x: turn.imag, rho: turn.real.
    half : (m,) float, half of the length, mm
    """

    corner: Complex
    turn: Complex
    origin: Complex
    half: Array

    def local(self, place: Complex, edge: Index) -> Complex:
        """Distance along the edge from its middle + i * height over its line, for one edge a place."""
        result: Complex = self.turn[edge] * place - self.origin[edge]
        return result

    def heights(self, place: Complex) -> Array:
        """Height of n places over the lines of all edges. Returns (n, m) float, mm."""
        lines = np.stack([self.turn.imag, self.turn.real, -self.origin.imag])
        heights: Array = np.stack([place.real, place.imag, np.ones(len(place))], axis=1) @ lines
        return heights

    def highest(self, place: Complex) -> tuple[Index, Array]:
        """The edge whose line lies deepest under each place (n,), and the height over it (n,).

        For a place inside, this is the nearest edge and the signed distance; a height above 0 tells that it is outside.
        """
        edge: Index = np.zeros(len(place), np.int64)
        height = np.zeros(len(place))
        block = max(1, _BLOCK_VALUES // len(self.half))
        for begin in range(0, len(place), block):
            some = slice(begin, begin + block)
            heights = self.heights(place[some])
            edge[some] = heights.argmax(axis=1)
            height[some] = heights.max(axis=1)
        return edge, height

    def nearest_from(self, place: Complex, start: Index) -> Index:
        """The edge that holds the nearest point of each place outside, found by a walk from any edge.

        A foot past the end of an edge tells that the nearest point lies farther on that way: the figure holds with each
        point all points nearer to axle and center plane, so only an edge that faces the place can hold its foot. The walk
        ends on the edge that holds the foot, or before the corner that does.
        """
        found = start.copy()
        along = self.local(place, found).real
        chosen = np.flatnonzero(np.abs(along) > self.half[found])
        step = np.where(along[chosen] > 0.0, 1, -1)
        while len(chosen):
            after = found[chosen] + step
            there = (after >= 0) & (after < len(self.half))
            chosen, step, after = chosen[there], step[there], after[there]
            along = self.local(place[chosen], after).real * step
            half = self.half[after]
            reached = along >= -half
            found[chosen[reached]] = after[reached]
            beyond = along > half
            chosen, step = chosen[beyond], step[beyond]
        return found


def meridian_edges(profile: Array) -> MeridianEdges:
    """Edges of a convex profile (k, 2), as from convex_profile, and of the side from its last point down to the axle."""
    corner: Complex = profile[:, 0] + 1j * profile[:, 1]
    if profile[-1, 1] > 0.0:
        corner = np.append(corner, profile[-1, 0])
    along = np.diff(corner)
    length = np.abs(along)
    turn = np.conj(along / length)
    half = 0.5 * length
    return MeridianEdges(corner=corner, turn=turn, origin=turn * corner[:-1] + half, half=half)
