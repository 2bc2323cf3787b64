# SPDX-License-Identifier: GPL-3.0-or-later
"""The convex body of revolution about the axle that a meridian profile bounds, filled to the axle."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .arrays import Array, Index, as_points, frozen
from .convex_profile import convex_profile
from .meridian_table import meridian_table

_BLOCK = 8192
"""Points handled at a time, so that what they need stays in the processor's second-level cache."""
_WIDE = 10
"""From this many candidate edges on, all lines are compared at once instead of one after the other."""

Complex = NDArray[np.complex128]


class MeridianBody:
    """Body of revolution about the axle (the x axis), mirrored in x = 0 and filled to the axle; convex.

    The signed distance of a point is that of (|x|, rho) from the convex plane figure under the profile: the body is its
    sweep about the axle, and the nearest point lies in the same half plane. Neither the axle nor the center plane is
    boundary. A table over (|x|, rho) names an edge to begin with; the result does not rest on the table being fine enough:
    - a foot on an edge that faces the point is the nearest point of a convex set (projection theorem: Boyd and
      Vandenberghe, Convex Optimization, 8.1);
    - outside, a foot past the end of an edge means that the nearest point lies farther on that way, since the figure holds
      with each point all points nearer to axle and center plane; so a walk along the edges ends at it;
    - inside, the distance is the largest value among the lines of the edges, and the table lists all that can be it.
    """

    def __init__(self, profile: ArrayLike) -> None:
        """profile : (m, 2) float, mm, rows (offset x >= 0, radius rho), made convex; ValueError as in convex_profile."""
        self.profile: Array = frozen(convex_profile(profile))
        corners = self.profile
        if corners[-1, 1] > 0.0:
            corners = np.vstack([corners, [corners[-1, 0], 0.0]])
        self._corner: Complex = corners[:, 0] + 1j * corners[:, 1]
        along = np.diff(self._corner)
        length = np.abs(along)
        # turn * (x + i rho) - origin = distance along the edge from its middle + i * height over its line
        self._turn: Complex = np.conj(along / length)
        self._half: Array = 0.5 * length
        self._origin: Complex = self._turn * self._corner[:-1] + self._half
        normals = np.stack([self._turn.imag, self._turn.real], axis=1)
        self._table = meridian_table(normals, self._origin.imag, self.largest_offset, self.largest_radius)

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
        return np.interp(offset, self.profile[:, 0], self.profile[:, 1], right=np.nan)

    def distance(self, points: ArrayLike) -> Array:
        """Signed distance of points. points : (n, 3) float, mm, wheel axes; returns (n,) float, mm."""
        points = as_points(points)
        distance = np.zeros(len(points))
        for begin in range(0, len(points), _BLOCK):
            block = slice(begin, begin + _BLOCK)
            self._nearest(*_half_plane(points[block]), distance[block])
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
            normal = self._nearest(place, rho, distance[block])
            np.copysign(normal.imag, some[:, 0], out=out[:, 0])
            if rho.min() > 0.0:
                np.divide(normal.real, rho, out=rho)
                np.multiply(some[:, 1:], rho[:, None], out=out[:, 1:])
            else:
                safe = np.where(rho > 0.0, rho, 1.0)
                out[:, 1] = normal.real * some[:, 1] / safe
                out[:, 2] = normal.real * np.where(rho > 0.0, some[:, 2] / safe, 1.0)
        return distance, gradient

    def _nearest(self, place: Complex, rho: Array, distance: Array) -> Complex:
        """Write the distances of places x + i rho and return the plane normals as (normal rho) + i (normal x)."""
        table = self._table
        row = rho * table.per_height
        np.floor(row, out=row)
        np.minimum(row, table.rows - 1, out=row)
        row *= table.columns
        column = place.real * table.per_width
        np.minimum(column, table.columns - 0.5, out=column)
        row += column
        cell: Index = row.astype(np.int64)
        edge = table.start.take(cell, mode="clip")
        turn: Complex = self._turn.take(edge, mode="clip")
        local = turn * place
        local -= self._origin.take(edge, mode="clip")
        distance[:] = local.imag
        along = np.abs(local.real, out=column)
        past = along > self._half.take(edge, mode="clip")
        under = np.flatnonzero(distance < 0.0)
        if len(under):
            under_cell = cell[under]
            past[under] &= table.outside[under_cell]
            unsure = table.first[under_cell] != table.last[under_cell]
            self._settle_inside(under[unsure], place, cell, edge, turn, distance, past)
        outlying = np.flatnonzero(past)
        if len(outlying):
            self._walk(outlying, place, edge, turn, distance)
        return turn

    def _settle_inside(
        self, chosen: Index, place: Complex, cell: Index, edge: Index, turn: Complex, distance: Array, past: NDArray[np.bool_]
    ) -> None:
        """Find the highest line among the candidates of the cell; a point that proves to be outside may need the walk."""
        if len(chosen) == 0:
            return
        at = place[chosen]
        first, last = self._table.first[cell[chosen]], self._table.last[cell[chosen]]
        best = first.copy()
        value = self._height(best, at)
        wide = last - first >= _WIDE
        active = np.flatnonzero(~wide)
        candidate = first.copy()
        while len(active):
            candidate[active] += 1
            active = active[candidate[active] <= last[active]]
            height = self._height(candidate[active], at[active])
            higher = height > value[active]
            value[active[higher]] = height[higher]
            best[active[higher]] = candidate[active[higher]]
        if wide.any():
            heights = np.multiply.outer(at[wide].real, self._turn.imag)
            heights += np.multiply.outer(at[wide].imag, self._turn.real)
            heights -= self._origin.imag
            best[wide] = heights.argmax(axis=1)
            value[wide] = heights.max(axis=1)
        edge[chosen] = best
        turn[chosen] = self._turn[best]
        distance[chosen] = value
        along = np.abs((self._turn[best] * at - self._origin[best]).real)
        past[chosen] = (value >= 0.0) & (along > self._half[best])

    def _height(self, edge: Index, place: Complex) -> Array:
        turn = self._turn[edge]
        return turn.imag * place.real + turn.real * place.imag - self._origin.imag[edge]

    def _walk(self, chosen: Index, place: Complex, edge: Index, turn: Complex, distance: Array) -> None:
        """Outside: go along the edges toward the foot until it lies on an edge or is held by a corner."""
        at, here = place[chosen], edge[chosen]
        step = np.where((self._turn[here] * at - self._origin[here]).real > 0.0, 1, -1)
        last_edge = len(self._half) - 1
        while len(chosen):
            after = here + step
            np.clip(after, 0, last_edge, out=after)
            local = self._turn[after] * at - self._origin[after]
            along = local.real * step
            half = self._half[after]
            # Not reached yet, or there is no further edge: the corner between holds the foot.
            corner_holds = (along < -half) | (after == here)
            goes_on = ~corner_holds & (along > half)
            on_edge = ~(corner_holds | goes_on)
            turn[chosen[on_edge]] = self._turn[after[on_edge]]
            distance[chosen[on_edge]] = local.imag[on_edge]
            self._corner_distance(
                chosen[corner_holds], at[corner_holds], here[corner_holds] + (step[corner_holds] > 0), turn, distance
            )
            chosen, at, here, step = chosen[goes_on], at[goes_on], after[goes_on], step[goes_on]

    def _corner_distance(self, chosen: Index, at: Complex, corner: Index, turn: Complex, distance: Array) -> None:
        away = at - self._corner[corner]
        length = np.abs(away)
        distance[chosen] = length
        apart = length > 0.0
        # On the corner itself the normal of an adjoining edge stands.
        unit = away[apart] / length[apart]
        turn[chosen[apart]] = unit.imag + 1j * unit.real


def _half_plane(points: Array) -> tuple[Complex, Array]:
    """Places |x| + i rho of points, and rho."""
    rho = points[:, 1] * points[:, 1]
    rho += points[:, 2] * points[:, 2]
    np.sqrt(rho, out=rho)
    place: Complex = np.zeros(len(points), np.complex128)
    np.abs(points[:, 0], out=place.real)
    place.imag = rho
    return place, rho
