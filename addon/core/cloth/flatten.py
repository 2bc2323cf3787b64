# SPDX-License-Identifier: GPL-3.0-or-later
"""A piece of a surface laid flat with as little strain as can be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Array, Index
from ..base.row_vectors import dot_rows
from .layered_solver import LayeredSolver, layers_from

_MOST_ROUNDS = 80
_SETTLED = 1e-6


@dataclass(frozen=True, eq=False)
class FlatPiece:
    """points : (n, 2) float, mm, of the piece laid flat; strain : (m,) float, greatest stretch or squeeze of each triangle

    The strain is what the cloth takes up on its way from flat to the surface.
    """

    points: Array
    strain: Array


def flatten(points: Array, triangles: Index) -> FlatPiece:
    """A connected piece of a surface laid flat.

    points : (n, 3) float, mm, all of them used; triangles : (m, 3) int, each with an area, counterclockwise
    Least squares conformal map (Levy, Petitjean, Ray and Maillot 2002), which is exact for what can be developed, then the map
    that is as rigid as possible (Liu, Zhang, Xu, Gotsman and Gortler 2008).
    Raises ValueError for a triangle without an area.
    """
    local = _local(points, triangles)
    one, two = _far_pair(points)
    layer = layers_from(triangles, len(points), one)
    flat = _rigid(_conformal(local, triangles, layer, one, two), local, triangles, layer)
    stretch = _stretches(flat, local, triangles)
    return FlatPiece(flat, np.abs(1.0 / np.maximum(stretch, 1e-9) - 1.0).max(axis=1))


def _local(points: Array, triangles: Index) -> Array:
    """(m, 3, 2): each triangle in its own plane, its first corner at 0, its first edge along x."""
    a, b, c = np.moveaxis(points[triangles], 1, 0)
    e1, e2 = b - a, c - a
    length = np.linalg.norm(e1, axis=1)
    height = np.linalg.norm(np.cross(e1, e2), axis=1)
    if not (height > 0.0).all():
        raise ValueError("flatten: a triangle has no area")
    local = np.zeros((len(triangles), 3, 2))
    local[:, 1, 0] = length
    local[:, 2, 0] = dot_rows(e1, e2) / length
    local[:, 2, 1] = height / length
    return local


def _far_pair(points: Array) -> tuple[int, int]:
    one = int(np.argmax(np.linalg.norm(points - points[0], axis=1)))
    return one, int(np.argmax(np.linalg.norm(points - points[one], axis=1)))


def _conformal(local: Array, triangles: Index, layer: Index, one: int, two: int) -> Array:
    """(n, 2): two points are held, a map follows from the least squares of its stretch being no turn and scale; scaled to the area."""
    count = len(layer)
    spot = local[..., 0] + 1j * local[..., 1]
    weight = np.roll(spot, -2, axis=1) - np.roll(spot, -1, axis=1)
    doubled = local[:, 1, 0] * local[:, 2, 1]
    weight /= np.sqrt(doubled)[:, None]
    pairs = [(i, j) for i in range(3) for j in range(3)]
    rows = np.concatenate([triangles[:, i] for i, _ in pairs])
    columns = np.concatenate([triangles[:, j] for _, j in pairs])
    values = np.concatenate([weight[:, i].conj() * weight[:, j] for i, j in pairs])
    right = np.zeros((count, 1), dtype=np.complex128)
    toward_two = (columns == two) & (rows != one) & (rows != two)
    np.subtract.at(right, (rows[toward_two], 0), values[toward_two])
    right[two] = 1.0
    solver = _held_solver(layer, rows, columns, values, np.array([one, two]))
    held = solver.solve(right)[:, 0]
    flat = np.stack([held.real, held.imag], axis=1)
    a, b, c = np.moveaxis(flat[triangles], 1, 0)
    covered = float(np.sum((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]))
    return np.asarray(flat * np.sqrt(doubled.sum() / abs(covered)))


def _held_solver(layer: Index, rows: Index, columns: Index, values: NDArray[Any], held: Index) -> LayeredSolver:
    """The solver of the matrix with some unknowns held to their right sides."""
    free = ~(np.isin(rows, held) | np.isin(columns, held))
    ones = np.ones(len(held), dtype=values.dtype)
    return LayeredSolver(
        layer,
        np.concatenate([rows[free], held]),
        np.concatenate([columns[free], held]),
        np.concatenate([values[free], ones]),
    )


def _rigid(flat: Array, local: Array, triangles: Index, layer: Index) -> Array:
    """The flat points with each triangle as near as can be to its own shape: turns and points in turns until they settle."""
    count = len(flat)
    cot = _cotangents(local)
    ends = [(triangles[:, (k + 1) % 3], triangles[:, (k + 2) % 3]) for k in range(3)]
    rows = np.concatenate([end for i, j in ends for end in (i, j, i, j)])
    columns = np.concatenate([end for i, j in ends for end in (i, j, j, i)])
    values = np.concatenate([value for k in range(3) for value in (cot[:, k], cot[:, k], -cot[:, k], -cot[:, k])])
    solver = _held_solver(layer, rows, columns, values, np.array([0]))
    size = float(np.abs(local).max())
    for _ in range(_MOST_ROUNDS):
        turn = _turns(flat, local, triangles, cot)
        asked = np.zeros((count, 2))
        for k in range(3):
            one, two = (k + 1) % 3, (k + 2) % 3
            edge = np.einsum("tij,tj->ti", turn, local[:, one] - local[:, two]) * cot[:, k, None]
            for axis in range(2):
                asked[:, axis] += np.bincount(triangles[:, one], edge[:, axis], minlength=count)
                asked[:, axis] -= np.bincount(triangles[:, two], edge[:, axis], minlength=count)
        asked[0] = 0.0
        moved = solver.solve(asked)
        step = float(np.abs(moved - (flat - flat[0])).max())
        flat = moved
        if step < _SETTLED * size:
            break
    return flat


def _cotangents(local: Array) -> Array:
    """(m, 3): of the angle at each corner."""
    doubled = local[:, 1, 0] * local[:, 2, 1]
    columns = []
    for k in range(3):
        one, two = local[:, (k + 1) % 3] - local[:, k], local[:, (k + 2) % 3] - local[:, k]
        columns.append(dot_rows(one, two) / doubled)
    return np.stack(columns, axis=1)


def _turns(flat: Array, local: Array, triangles: Index, cot: Array) -> Array:
    """(m, 2, 2): the rotation that takes each triangle best to where it lies now."""
    dot, cross = np.zeros(len(triangles)), np.zeros(len(triangles))
    corners = flat[triangles]
    for k in range(3):
        i, j = (k + 1) % 3, (k + 2) % 3
        was, now = local[:, i] - local[:, j], corners[:, i] - corners[:, j]
        dot += cot[:, k] * dot_rows(was, now)
        cross += cot[:, k] * (was[:, 0] * now[:, 1] - was[:, 1] * now[:, 0])
    angle = np.arctan2(cross, dot)
    c, s = np.cos(angle), np.sin(angle)
    return np.stack([np.stack([c, -s], axis=1), np.stack([s, c], axis=1)], axis=1)


def _stretches(flat: Array, local: Array, triangles: Index) -> Array:
    """(m, 2): flat length over length on the surface, greatest and least of each triangle; singular values of the map."""
    a, b, c = np.moveaxis(flat[triangles], 1, 0)
    along = (b - a) / local[:, 1, :1]
    across = ((c - a) - local[:, 2, :1] * along) / local[:, 2, 1:]
    sums = np.hypot(along[:, 0] + across[:, 1], along[:, 1] - across[:, 0])
    differences = np.hypot(along[:, 0] - across[:, 1], along[:, 1] + across[:, 0])
    return np.stack([0.5 * (sums + differences), np.abs(0.5 * (sums - differences))], axis=1)
