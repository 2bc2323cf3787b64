# SPDX-License-Identifier: GPL-3.0-or-later
"""Opens the sides of a cage, by as little as can be, until its skin comes off a mold."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..clearance.clearance_field import ClearanceField
from ..skin.cage import Cage
from ..skin.skin_stencil import SkinStencil
from ..skin.stencil_rows import StencilRows
from .guard import guard
from .nonnegative_least_squares import nonnegative_least_squares
from .point_freedom import SeatRows

ROUNDS = 12
_MOST_ROWS = 160
"""Of the skin that a round asks more draft of: the ones that lack most."""
_NEAR = np.sin(np.radians(4.0))
"""What has so little more than asked is kept from losing it, too."""
_SETTLED = np.sin(np.radians(0.05))
_LEFT_ALONE = np.sin(np.radians(0.25))
"""A skin that lacks no more is not opened at all."""
_EASE = 1e-7
"""Of the greatest curvature, added to all, so that rows that ask the same do not fight."""


@dataclass(frozen=True, eq=False)
class OpenedDraft:
    """cage : opened; moved : mm, the most that one of its points was; least_deg : draft that its skin has; enough : as asked"""

    cage: Cage
    moved: float
    least_deg: float
    enough: bool


def open_draft(
    cage: Cage, stencil: SkinStencil, field: ClearanceField, pulls: Array, asked_deg: float, held: SeatRows | None = None
) -> OpenedDraft:
    """The cage nearest to one (sum of squares) whose skin has the asked draft, as far as the clearance allows.

    cage : clear; stencil : of its topology; field : what stays clear; pulls : (p, 3) float, unit, at each point of the skin
    held : points of the mount's seat, which stay
    Draft is linearized at the cage as it is, the least move under it found by its dual, then the guard applied; a few times over
    (sequential quadratic programming: Nocedal and Wright, Numerical Optimization, 18).
    """
    asked = float(np.sin(np.radians(asked_deg)))
    start, now = cage.points, cage.points
    free = np.ones((len(start), 3))
    free[cage.topology.on_plane, 0] = 0.0
    if held is not None:
        free[held.points] = 0.0
    for done in range(ROUNDS):
        normals, size = _normals(stencil, now)
        cosine = np.einsum("ij,ij->i", normals, pulls)
        cosine[size <= 0.0] = 1.0  # a point without a normal
        if cosine.min() >= asked - (_SETTLED if done else _LEFT_ALONE):
            break
        rows = np.argsort(cosine)[:_MOST_ROWS]
        rows = rows[cosine[rows] < asked + _NEAR]
        slopes = _slopes(stencil, now, rows, pulls[rows]) * free.ravel()
        lacking = asked - cosine[rows] + slopes @ (now - start).ravel()
        gram: Array = np.asarray(slopes @ slopes.T)
        gram += _EASE * float(np.trace(gram)) / len(gram) * np.eye(len(gram))
        wish = start + (slopes.T @ nonnegative_least_squares(gram, lacking)).reshape(-1, 3)
        result = guard(now, wish, stencil.position, field, fixed_x=_fixed(cage), rounds=3)
        now = result.points
        if not result.clear:
            break
    normals, size = _normals(stencil, now)
    least = float(np.einsum("ij,ij->i", normals, pulls)[size > 0.0].min())
    moved = float(np.linalg.norm(now - start, axis=1).max())
    least_deg = float(np.degrees(np.arcsin(np.clip(least, -1.0, 1.0))))
    return OpenedDraft(replace(cage, points=now), moved, least_deg, least >= asked - _LEFT_ALONE)


def _fixed(cage: Cage) -> Mask:
    return cage.topology.on_plane


def _normals(stencil: SkinStencil, points: Array) -> tuple[Array, Array]:
    """Unit normals (p, 3) of the skin and the lengths (p,) of the tangents' products."""
    across = np.cross(stencil.tangent_u.apply(points), stencil.tangent_v.apply(points))
    size = np.linalg.norm(across, axis=1)
    return across / np.where(size > 0.0, size, 1.0)[:, None], size


def _slopes(stencil: SkinStencil, points: Array, rows: Index, pulls: Array) -> Array:
    """(k, 3 n) float: how the cosine between normal and pull changes at rows of the skin with each coordinate of the cage.

    With N = u x v and w the pull less its part along N, over the length of N: d cos = dN . w = du . (v x w) + dv . (w x u).
    """
    u, v = stencil.tangent_u.apply(points)[rows], stencil.tangent_v.apply(points)[rows]
    across = np.cross(u, v)
    size = np.linalg.norm(across, axis=1)[:, None]
    normal = across / size
    side = (pulls - np.einsum("ij,ij->i", normal, pulls)[:, None] * normal) / size
    result = np.zeros((len(rows), len(points), 3))
    for tangent, by in ((stencil.tangent_u, np.cross(v, side)), (stencil.tangent_v, np.cross(side, u))):
        _add(result, tangent, rows, by)
    return result.reshape(len(rows), -1)


def _add(result: Array, tangent: StencilRows, rows: Index, by: Array) -> None:
    for number, row in enumerate(rows.tolist()):
        entries = slice(int(tangent.starts[row]), int(tangent.starts[row + 1]))
        index = tangent.index[entries]
        result[number, index, 0] += tangent.x_weight[entries] * by[number, 0]
        result[number, index, 1:] += tangent.weight[entries][:, None] * by[number, 1:]
