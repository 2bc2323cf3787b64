# SPDX-License-Identifier: GPL-3.0-or-later
"""The rim: what closes the wall along the edge of the surface."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from ..base.errors import ShapeError
from ..base.format_place import format_place
from ..base.row_vectors import dot_rows
from ..mesh.open_surface import Boundary

CORNER = np.radians(20.0)
"""From this turn of the edge on, a corner gets a fan of sections in place of one in the middle."""

FAN_STEP = np.radians(10.0)
SHARPEST_NOTCH = np.radians(120.0)


@dataclass(frozen=True, eq=False)
class RimSections:
    """Where sections of the rim stand: one a boundary point, a fan at corners.

    owner : (s,) int, row of Boundary; out : (s, 3) float, out of the surface, square to the wall, longer than 1 at a notch
    after : (s,) int, next section
    """

    owner: Index
    out: Array
    after: Index


def rim_sections(boundary: Boundary, middle: Array, across: Array) -> RimSections:
    """Sections along the edge. middle : (b, 3) float, middles of the wall on the boundary; across : (b, 3), unit, outward."""
    ahead = _unit(_square(middle[boundary.after] - middle, across))
    behind = _unit(_square(middle - middle[boundary.before], across))
    turn = np.arctan2(dot_rows(across, np.cross(behind, ahead)), dot_rows(behind, ahead))
    if len(turn) and turn.min() < -SHARPEST_NOTCH:
        place = middle[np.argmin(turn)]
        raise ShapeError(f"the edge of the skin turns back on itself {format_place(place)}; open it there", place)
    steps = np.where(turn > CORNER, np.ceil(turn / FAN_STEP), 0).astype(np.int64)
    owner = np.repeat(np.arange(len(turn)), steps + 1)
    first = np.cumsum(steps + 1) - (steps + 1)
    place_in_fan = np.arange(len(owner)) - first[owner]
    # one section stands square to the arc of a bend, or halves the turn of a notch and is longer by the miter; a fan goes
    # through it
    fan = steps[owner] > 0
    share = np.where(np.abs(turn) <= CORNER, _share_behind(middle, boundary), 0.5)
    angle = np.where(fan, turn[owner] * place_in_fan / np.maximum(steps[owner], 1), (share * turn)[owner])
    length = np.where(fan, 1.0, 1.0 / np.cos(0.5 * turn[owner]))
    side = np.cross(behind, across)[owner]
    out = length[:, None] * (np.cos(angle)[:, None] * side + np.sin(angle)[:, None] * behind[owner])
    last = place_in_fan == steps[owner]
    after = np.where(last, first[boundary.after[owner]], np.arange(len(owner)) + 1)
    return RimSections(owner, out, after)


def _share_behind(middle: Array, boundary: Boundary) -> Array:
    """(b,) share of the turn that lies behind each point if the edge is an arc there: that of the edge behind in both lengths.

    Halving the turn would twist the rim of a short edge between long ones back on itself in a hollow.
    """
    ahead = np.linalg.norm(middle[boundary.after] - middle, axis=1)
    behind = np.linalg.norm(middle - middle[boundary.before], axis=1)
    return np.asarray(behind / np.maximum(ahead + behind, 1e-300))


def rim_strip(
    boundary: Boundary, outer: Array, inner: Array, profiles: Array, outer_index: Index, inner_index: Index, start: int
) -> tuple[Array, Index, Index]:
    """Points (k, 3) and triangles of the rim, and its sections (s, k) int, vertices from the outer to the inner face.

    outer, inner : (b, 3) float, the two faces on the boundary, outer_index, inner_index : (b,) int, their vertices
    profiles : (b, k, 2) float, mm, see rim_profiles; start : index of the first new vertex
    Raises ShapeError where the edge curls more tightly than the rim is wide.
    """
    middle, half = 0.5 * (outer + inner), 0.5 * (outer - inner)
    radius = np.linalg.norm(half, axis=1, keepdims=True)
    sections = rim_sections(boundary, middle, half / radius)
    owner, count = sections.owner, profiles.shape[1]
    points = middle[owner][:, None, :] + profiles[owner, :, :1] * (half / radius)[owner][:, None, :]
    points = points + profiles[owner, :, 1:] * sections.out[:, None, :]
    index = np.concatenate(
        [
            outer_index[owner][:, None],
            start + np.arange(len(owner) * count).reshape(len(owner), count),
            inner_index[owner][:, None],
        ],
        axis=1,
    )
    _check_strip(points, sections, middle, boundary)
    one, two = index, index[sections.after]
    a, b, c, d = one[:, :-1], one[:, 1:], two[:, 1:], two[:, :-1]
    triangles = np.concatenate([np.stack([a, b, c], axis=-1).reshape(-1, 3), np.stack([a, c, d], axis=-1).reshape(-1, 3)])
    whole = (triangles != np.roll(triangles, 1, axis=1)).all(axis=1)
    return points.reshape(-1, 3), triangles[whole], index


def _check_strip(points: Array, sections: RimSections, middle: Array, boundary: Boundary) -> None:
    between = sections.owner[sections.after] != sections.owner
    owner = sections.owner[between]
    step = middle[boundary.after[owner]] - middle[owner]
    progress = np.einsum("skj,sj->sk", points[sections.after[between]] - points[between], step)
    stuck = (progress <= 0).any(axis=1)
    if stuck.any():
        place = middle[owner[np.argmax(stuck)]]
        raise ShapeError(
            f"the edge of the skin curls more tightly than its rim is wide {format_place(place)}; open it there", place
        )


def _square(vectors: Array, normal: Array) -> Array:
    return np.asarray(vectors - dot_rows(vectors, normal)[:, None] * normal)


def _unit(vectors: Array) -> Array:
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=1, keepdims=True), 1e-300))
