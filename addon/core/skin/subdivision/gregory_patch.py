# SPDX-License-Identifier: GPL-3.0-or-later
"""Gregory patches: bicubic Bezier patches whose four inner points each blend two."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from ...base.arrays import Array
from .face_pattern import face_pattern

# The Bezier point (column along u, row along v) of each control point; per corner P, E+, E-, F+, F-.
_PLACES = (
    ((0, 0), (1, 0), (0, 1), (1, 1), (1, 1)),
    ((3, 0), (3, 1), (2, 0), (2, 1), (2, 1)),
    ((3, 3), (2, 3), (3, 2), (2, 2), (2, 2)),
    ((0, 3), (0, 2), (1, 3), (1, 2), (1, 2)),
)


@lru_cache(maxsize=16)
def unit_square(level: int) -> Array:
    """Place (p, 2) in the unit square of the points of FacePattern(4, level); corner 0 at the origin, 1 at (1, 0)."""
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    for step in range(level):
        pattern = face_pattern(4, step)
        face, corner = pattern.edges[:, 0], pattern.edges[:, 1]
        ends = pattern.faces[face, corner], pattern.faces[face, (corner + 1) % 4]
        square = np.concatenate([square, 0.5 * (square[ends[0]] + square[ends[1]]), square[pattern.faces].mean(axis=1)])
    return square


@lru_cache(maxsize=16)
def gregory_basis(level: int) -> tuple[Array, Array, Array]:
    """Weights (p, 20) of the control points at the points of unit_square(level), and their derivatives by u and by v.

    Control points: for each corner P, E+, E-, F+, F-, as in Loop, Schaefer, Ni and Castano, Approximating subdivision
    surfaces with Gregory patches for hardware tessellation, 2009. At the corners the derivatives are those of the edges.
    """
    u, v = unit_square(level).T
    (bu, du), (bv, dv) = _bernstein(u), _bernstein(v)
    value, by_u, by_v = (np.zeros((len(u), 20)) for _ in range(3))
    for corner, places in enumerate(_PLACES):
        share, share_u, share_v = _blend(corner, u, v)
        for kind, (i, j) in enumerate(places):
            column = 5 * corner + kind
            product = bu[:, i] * bv[:, j]
            product_u, product_v = du[:, i] * bv[:, j], bu[:, i] * dv[:, j]
            if kind < 3:
                value[:, column], by_u[:, column], by_v[:, column] = product, product_u, product_v
                continue
            part, sign = (share, 1.0) if kind == 3 else (1.0 - share, -1.0)
            value[:, column] = product * part
            by_u[:, column] = product_u * part + sign * product * share_u
            by_v[:, column] = product_v * part + sign * product * share_v
    return value, by_u, by_v


def _bernstein(t: Array) -> tuple[Array, Array]:
    s = 1.0 - t
    value = np.stack([s**3, 3.0 * s * s * t, 3.0 * s * t * t, t**3], axis=-1)
    slope = np.stack([-3.0 * s * s, 3.0 * s * s - 6.0 * s * t, 6.0 * s * t - 3.0 * t * t, 3.0 * t * t], axis=-1)
    return value, slope


def _blend(corner: int, u: Array, v: Array) -> tuple[Array, Array, Array]:
    """Share of F+ in the inner point of a corner, and its derivatives.

    With a the distance from the corner along its outgoing edge and b along its incoming edge the share is a / (a + b).
    """
    away_u, away_v = (u, 1.0 - u)[corner in (1, 2)], (v, 1.0 - v)[corner in (2, 3)]
    sign_u, sign_v = (1.0, -1.0)[corner in (1, 2)], (1.0, -1.0)[corner in (2, 3)]
    along_u = corner in (0, 2)
    total = away_u + away_v
    at_corner = total == 0.0
    total = np.where(at_corner, 1.0, total)
    share = np.where(at_corner, 0.5, (away_u if along_u else away_v) / total)
    turn = 1.0 if along_u else -1.0
    return share, turn * sign_u * away_v / total**2, -turn * sign_v * away_u / total**2
