# SPDX-License-Identifier: GPL-3.0-or-later
"""A flat seat: one face of the wall runs smoothly into a plane under the bolts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask, frozen
from ..base.errors import JobError, ShapeError
from ..base.format_place import format_place
from ..base.smooth_step import smooth_slope, smooth_step
from .seat_outline import outline_distance, outline_points

STEEPEST = 0.2
"""Least cosine between the skin under the pad and the seat's normal."""

MOST_MOVE = 0.5
"""Most that the face may move, in blend widths: the blend then has a slope of 43 degrees (quintic step, 1.875 at its middle)."""


@dataclass(frozen=True, eq=False)
class Seat:
    """A flat seat on one face of the wall.

    origin, x, forward, normal : (3,) float, frame of the seat's plane; normal points away from the wheel
    bolts : (b, 2) float, mm, along x and forward from the origin
    pad : radius of the seat about each bolt, mm; the seat is the hull of these discs
    blend : width over which the seat runs into the face, mm
    face : "outer" or "inner", the face of the wall that lies on the plane
    solid : True if the other face stays where it is as far as that makes the wall thicker; False for a constant wall
    key, called : its section of the sheet and its plane, as errors name them
    """

    origin: Array
    x: Array
    forward: Array
    normal: Array
    bolts: Array
    pad: float
    blend: float
    face: str = "outer"
    solid: bool = False
    key: str = "mount"
    called: str = "mount plane"

    def __post_init__(self) -> None:
        for name in ("origin", "x", "forward", "normal", "bolts"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    def in_plane(self, points: Array) -> Array:
        """(n, 2) coordinates along x and forward."""
        return (points - self.origin) @ np.stack([self.x, self.forward], axis=1)

    def height(self, points: Array) -> Array:
        """(n,) signed distance from the plane, along the normal."""
        heights: Array = (points - self.origin) @ self.normal
        return heights

    @property
    def bracket_side(self) -> Array:
        """(3,) unit vector from the seat toward the bracket that it bears on."""
        return self.normal if self.face == "outer" else np.asarray(-self.normal)

    def depth(self, points: Array) -> Array:
        """(n,) distance from the plane into the wall, away from the bracket."""
        return np.asarray((self.origin - points) @ self.bracket_side)

    def place(self, plane_points: Array) -> Array:
        """(n, 3) points of the plane from coordinates (n, 2)."""
        return self.origin + plane_points @ np.stack([self.x, self.forward])


@dataclass(frozen=True, eq=False)
class SeatedFace:
    """A face of the wall after the seat has been worked in.

    points, normals : (n, 3) float; lift : (n,) float, mm, how far each point moved along the seat's normal
    weight : (n,) float, 1 on the seat, 0 where the face is untouched
    """

    points: Array
    normals: Array
    lift: Array
    weight: Array


def seat_face(points: Array, normals: Array, seat: Seat) -> SeatedFace:
    """The face with the seat worked in: p -> p - w h n with the height h over the seat's plane and its normal n.

    points, normals : (n, 3) float, the face and its outward unit normals.
    The weight w is 1 inside the outline and falls to 0 over the blend width, and also with the height, so that no other
    wall that happens to pass under the seat is pulled. Normals by the cofactor of the map: N' is along
    (1 - n.m) N + (n.N) m with m = gradient of w h.
    Raises JobError if the face cannot reach the plane within the blend.
    """
    height = seat.height(points)
    distance, direction = _local_distance(seat.in_plane(points), seat)
    reach = _reach(points, normals, height, distance, seat)
    side, side_slope = _step(1.0 - distance / seat.blend)
    near, near_slope = _step(1.0 - (np.abs(height) - reach) / seat.blend)
    weight = side * near
    in_plane = direction @ np.stack([seat.x, seat.forward])
    gradient = -(side_slope * near / seat.blend)[:, None] * in_plane
    gradient -= (side * near_slope * np.sign(height) / seat.blend)[:, None] * seat.normal
    product = weight[:, None] * seat.normal + height[:, None] * gradient
    lift = -weight * height
    turned = (1.0 - product @ seat.normal)[:, None] * normals + (normals @ seat.normal)[:, None] * product
    turned = np.where((weight > 0)[:, None], turned, normals)
    return SeatedFace(points + lift[:, None] * seat.normal, turned / np.linalg.norm(turned, axis=1, keepdims=True), lift, weight)


def _local_distance(flat: Array, seat: Seat) -> tuple[Array, Array]:
    """outline_distance where the seat reaches, and more than the blend elsewhere: most of a fender is far from each seat."""
    reach = seat.pad + seat.blend
    close = ((flat >= seat.bolts.min(axis=0) - reach) & (flat <= seat.bolts.max(axis=0) + reach)).all(axis=1)
    distance, direction = np.full(len(flat), 2.0 * seat.blend + 1.0), np.zeros_like(flat)
    distance[close], direction[close] = outline_distance(flat[close], seat.bolts, seat.pad)
    return distance, direction


def _step(share: Array) -> tuple[Array, Array]:
    """smooth_step and its derivative."""
    return smooth_step(share), smooth_slope(share)


def off_plane(points: Array, normals: Array, seat: Seat) -> tuple[float, Array] | None:
    """Greatest distance, mm, of a face under the pad from the plane, and where (3,); None if the face is not under it.

    points, normals : (n, 3) float, the face that is to lie on the plane, and its outward unit normals
    """
    distance, _ = outline_distance(seat.in_plane(points), seat.bolts, seat.pad)
    return _farthest(points, normals, seat.height(points), distance, seat)


def _farthest(points: Array, normals: Array, height: Array, distance: Array, seat: Seat) -> tuple[float, Array] | None:
    under = (distance <= 0) & (normals @ seat.normal > 0)
    if not under.any():
        return None
    top = under & (np.abs(height) < np.abs(height[under]).min() + 2.0 * MOST_MOVE * seat.blend + seat.pad)
    worst = int(np.argmax(np.abs(height[top])))
    return float(np.abs(height[top][worst])), points[top][worst]


def _reach(points: Array, normals: Array, height: Array, distance: Array, seat: Seat) -> float:
    """Greatest distance of the face under the pad from the plane."""
    farthest = _farthest(points, normals, height, distance, seat)
    if farthest is None:
        raise JobError(
            f"{seat.key}.bolts",
            f"the seat is not over the fender at all {format_place(seat.origin)}; move the pattern or widen the fender",
            seat.origin,
        )
    reach, place = farthest
    limit = MOST_MOVE * seat.blend
    if reach > limit:
        raise JobError(
            f"{seat.key}.blend",
            f"the skin is {reach:.1f} mm off the {seat.called} {format_place(place)}, but a blend of {seat.blend:g} mm can take up "
            f"{limit:.1f} mm; bring the skin to the {seat.called} or widen the blend",
            place,
        )
    return reach


def check_covered(face: SeatedFace, triangles: Index, boundary: Index, seat: Seat, margin: float) -> None:
    """Raise if the seat is not wholly on the face, once, with margin (mm) to the face's edge.

    triangles : (m, 3) int; boundary : (b,) int, points on the edge
    """
    flat = seat.in_plane(face.points)
    distance, _ = outline_distance(flat, seat.bolts, seat.pad)
    close = np.abs(seat.height(face.points)) < seat.blend
    on_edge = boundary[close[boundary]]
    if len(on_edge):
        worst = on_edge[np.argmin(distance[on_edge])]
        if distance[worst] < margin:
            raise JobError(
                f"{seat.key}.pad",
                f"the seat comes within {distance[worst]:.1f} mm of the fender's edge {format_place(face.points[worst])}, at least "
                f"{margin:.1f} mm is needed (negative: over the edge); widen the fender or make the pad smaller",
                face.points[worst],
            )
    seated = (distance <= 0) & (face.weight > 0.5)
    taking_part = triangles[(close & (distance < seat.blend))[triangles].all(axis=1)]
    outline = outline_points(seat.bolts, seat.pad, 48)
    counts = _cover_counts(flat[taking_part], outline)
    if (counts == 0).any():
        place = seat.place(outline[counts == 0])[0]
        raise JobError(
            f"{seat.key}.pad",
            f"the seat reaches past the fender {format_place(place)}; widen the fender or move the pattern",
            place,
        )
    slope = face.normals @ seat.normal
    if (counts > 1).any() or (slope[seated] < STEEPEST).any():
        place = seat.origin
        raise ShapeError(f"the skin folds over itself under the seat {format_place(place)}; smooth it there", place)


def _cover_counts(triangles: Array, samples: Array) -> Array:
    """How many triangles (m, 3, 2) hold each of the samples (k, 2) strictly or on the edge, counting a shared edge once."""
    # shifted by a fixed, odd amount so that no sample lies on an edge of a regular grid
    at = samples + np.array([1.234e-5, 2.345e-5])
    a, b, c = np.moveaxis(triangles, 1, 0)

    def side(p: Array, q: Array) -> Mask:
        d = q - p
        cross = d[None, :, 0] * (at[:, None, 1] - p[None, :, 1]) - d[None, :, 1] * (at[:, None, 0] - p[None, :, 0])
        left: Mask = cross > 0
        return left

    one, two, three = side(a, b), side(b, c), side(c, a)
    counts: Array = ((one == two) & (two == three)).sum(axis=1)
    return counts
