# SPDX-License-Identifier: GPL-3.0-or-later
"""The convex body of revolution about the axle that a meridian profile bounds, filled to the axle."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, Index, Mask, as_points, frozen
from ..tire.convex_profile import convex_profile
from .meridian_edges import Complex, meridian_edges
from .meridian_table import meridian_table

_BLOCK = 8192
"""Points handled at a time, so that what they need stays in the processor's second-level cache."""
_WIDE = 8
"""From this many candidate edges on, all lines are compared at once instead of one after the other."""
_ON_CORNER = 1e-9
"""mm: nearer to a corner than this, the direction to it is rounding, and the normal of an edge stands."""


class MeridianBody:
    """Body of revolution about the axle (the x axis), mirrored in x = 0 and filled to the axle; convex.

    The signed distance of a point is that of (|x|, rho) from the convex plane figure under the profile: the nearest point
    lies in the same half plane through the axle. Neither the axle nor the center plane is boundary. A table over (|x|, rho)
    names an edge to begin with; the result is exact whether or not the table is fine:
    - where the table has proof for a whole cell, it is used;
    - a foot on an edge that faces the point is the nearest point of a convex set (projection theorem: Boyd and
      Vandenberghe, Convex Optimization, 8.1);
    - otherwise, outside, a walk along the edges ends at the nearest one (MeridianEdges.nearest_from);
    - otherwise, inside, the distance is the largest height over the lines of those edges that the table lists.
    """

    def __init__(self, profile: ArrayLike) -> None:
        """profile : (m, 2) float, mm, rows (offset x >= 0, radius rho), made convex; ValueError as in convex_profile."""
        self.profile: Array = frozen(convex_profile(profile))
        self._edges = meridian_edges(self.profile)
        self._table = meridian_table(self._edges)
        count = len(self._edges.half)
        # Edge numbers from count on mean the same edges where the table has no proof.
        self._coded_start = (self._table.start + count * ~self._table.proven).astype(np.int32)
        self._turn: Complex = np.tile(self._edges.turn, 2)
        self._origin: Complex = np.tile(self._edges.origin, 2)
        self._half: Array = np.tile(self._edges.half, 2)

    @property
    def convex(self) -> bool:
        return True

    @property
    def largest_radius(self) -> float:
        """Radius at the crown, mm."""
        return float(self.profile[0, 1])

    @property
    def largest_offset(self) -> float:
        """Half of the width, mm."""
        return float(self.profile[-1, 0])

    def radius_at(self, x: ArrayLike) -> Array:
        """Radius of the surface at offsets x, mm; NaN past the side of the body."""
        offset = np.abs(np.asarray(x, dtype=np.float64))
        return np.asarray(np.interp(offset, self.profile[:, 0], self.profile[:, 1], right=np.nan))

    def distance(self, points: ArrayLike) -> Array:
        """Signed distance of points. points : (n, 3) float, mm, wheel axes; returns (n,) float, mm."""
        points = as_points(points)
        distance = np.zeros(len(points))
        for begin in range(0, len(points), _BLOCK):
            block = slice(begin, begin + _BLOCK)
            self._measure(*_half_plane(points[block]), distance[block])
        return distance

    def distance_and_gradient(self, points: ArrayLike) -> tuple[Array, Array]:
        """Signed distance (n,) and its unit gradient (n, 3), pointing away from the body.

        Where two boundary points are equally near (inside only), the gradient is that of one of them; on the axle, where
        all stations are equal, it points to station 0.
        """
        points = as_points(points)
        distance = np.zeros(len(points))
        gradient = np.zeros((len(points), 3))
        for begin in range(0, len(points), _BLOCK):
            block = slice(begin, begin + _BLOCK)
            some, out = points[block], gradient[block]
            place, rho = _half_plane(some)
            normal = self._measure(place, rho, distance[block])
            np.copysign(normal.imag, some[:, 0], out=out[:, 0])
            on_axle = np.flatnonzero(rho == 0.0) if rho.min() == 0.0 else None
            if on_axle is not None:
                rho[on_axle] = 1.0
            share = np.divide(normal.real, rho, out=rho)
            # One column at a time: numpy is thirty times slower at the two columns together.
            np.multiply(some[:, 1], share, out=out[:, 1])
            np.multiply(some[:, 2], share, out=out[:, 2])
            if on_axle is not None:
                out[on_axle, 2] = normal.real[on_axle]
        return distance, gradient

    def _measure(self, place: Complex, rho: Array, distance: Array) -> Complex:
        """Write the distances of places and return the unit normals in the half plane, as rho part + i * x part."""
        cell = self._cell(place, rho)
        edge = self._coded_start.take(cell, mode="clip")
        turn: Complex = self._turn.take(edge, mode="clip")
        local = turn * place
        local -= self._origin.take(edge, mode="clip")
        distance[:] = local.imag
        past: Mask = np.abs(local.real) > self._half.take(edge, mode="clip")
        doubtful = distance < 0.0
        doubtful |= past
        doubtful &= edge >= len(self._edges.half)
        chosen = np.flatnonzero(doubtful)
        if len(chosen):
            found = self._search(place[chosen], cell[chosen], distance[chosen])
            edge[chosen] = found
            turn[chosen] = self._turn[found]
            local[chosen] = nearer = self._edges.local(place[chosen], found)
            distance[chosen] = nearer.imag
            past[chosen] = np.abs(nearer.real) > self._half[found]
        chosen = np.flatnonzero(past)
        if len(chosen):
            distance[chosen], tilt = _from_corner(local[chosen], self._half[edge[chosen]])
            turn[chosen] *= tilt
        return turn

    def _cell(self, place: Complex, rho: Array) -> Index:
        table = self._table
        row = rho * table.per_height
        np.floor(row, out=row)
        np.minimum(row, table.rows - 1, out=row)
        row *= table.columns
        column = place.real * table.per_width
        np.minimum(column, table.columns - 0.5, out=column)
        row += column
        return row.astype(np.int64)

    def _search(self, place: Complex, cell: Index, height: Array) -> Index:
        """Nearest edges where the table has no proof."""
        found = self._table.start[cell]
        inside = (height < 0.0) & ~self._table.outside[cell]
        chosen = np.flatnonzero(inside)
        if len(chosen):
            found[chosen], highest = self._highest_listed(place[chosen], cell[chosen])
            inside[chosen] = highest < 0.0
        walking = np.flatnonzero(~inside)
        if len(walking):
            found[walking] = self._edges.nearest_from(place[walking], found[walking])
        return found

    def _highest_listed(self, place: Complex, cell: Index) -> tuple[Index, Array]:
        """Of the edges first..last of the cell, the one whose line is highest, and the height over it."""
        first, last = self._table.first[cell], self._table.last[cell]
        best = first.copy()
        value = self._edges.local(place, first).imag
        wide = last - first >= _WIDE
        active = np.flatnonzero(~wide)
        candidate = first[active]
        while len(active):
            candidate += 1
            listed = candidate <= last[active]
            active, candidate = active[listed], candidate[listed]
            height = self._edges.local(place[active], candidate).imag
            higher = height > value[active]
            value[active[higher]] = height[higher]
            best[active[higher]] = candidate[higher]
        if wide.any():
            best[wide], value[wide] = self._edges.highest(place[wide])
        return best, value


def _half_plane(points: Array) -> tuple[Complex, Array]:
    """Places |x| + i rho of points, and rho."""
    rho = points[:, 1] * points[:, 1]
    rho += points[:, 2] * points[:, 2]
    np.sqrt(rho, out=rho)
    place: Complex = np.zeros(len(points), np.complex128)
    np.abs(points[:, 0], out=place.real)
    place.imag = rho
    return place, rho


def _from_corner(local: Complex, half: Array) -> tuple[Array, Complex]:
    """Distance of places past the end of their edge from its corner, and the turn from the edge's normal to their own."""
    past = local.real - np.copysign(half, local.real)
    height = local.imag
    # Inside, a foot is past the end by rounding only; in line with an edge, a height can be under zero by rounding only.
    length = np.sqrt(past * past + height * height)
    inside = height < -np.abs(past)
    on_corner = length < _ON_CORNER
    tilt: Complex = np.abs(height) + 1j * past
    tilt /= np.where(on_corner, 1.0, length)
    tilt[inside | on_corner] = 1.0
    return np.where(inside, height, length), tilt
