# SPDX-License-Identifier: GPL-3.0-or-later
"""Bends the fender's lines toward those of the bike, by the least change of the cage."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..base.row_vectors import dot_rows
from ..clearance.clearance_field import ClearanceField
from ..job.job_sections import BikeLine
from ..shaping.guard import guard
from ..shaping.point_freedom import SeatRows
from ..skin.cage import Cage, CageTopology
from ..skin.skin_stencil import SkinStencil
from .compare_line import LineMatch, compare_line
from .own_line import COLUMNS, own_line, own_rows

ROUNDS = 4
EVEN = 0.25
"""How much neighbors that move apart count beside the distance of the line: a section moves together, not its crown alone; our choice."""
LEAST = 0.01
"""How much any move counts, so that what need not move stays; our choice."""
_SETTLED_MM = 0.05


def follow_lines(
    cage: Cage, stencil: SkinStencil, field: ClearanceField, lines: tuple[BikeLine, ...], held: SeatRows | None = None
) -> Cage:
    """The cage bent toward all lines that ask for it (follow over 0), as far as clearance and seat allow.

    cage : a clear half; stencil : of its topology; field : what stays clear; held : points of the mount's seat, which do not move
    Regularized least squares in the views of the lines, then the guard, a few times over.
    Raises JobError if a line never comes near, CageError if the cage is no half.
    """
    wished = [(f"bike_line[{i}]", line, own_rows(cage, stencil, line.part)) for i, line in enumerate(lines) if line.follow > 0.0]
    start = {key: own_line(cage, stencil, rows, line.view) for key, line, rows in wished}
    goals = {key: _goal(compare_line(key, line, start[key]), start[key], line.follow) for key, line, _ in wished}
    still = np.zeros(len(cage.points), bool) if held is None else np.asarray(held.points, bool)
    edges = _edges(cage.topology)
    for _ in range(ROUNDS if wished else 0):
        wish = cage.points + _moves(cage, stencil, wished, goals, edges, still)
        wish[still] = cage.points[still]
        wish[cage.topology.on_plane, 0] = 0.0
        result = guard(cage.points, wish, stencil.position, field, fixed_x=cage.topology.on_plane, seat=held, rounds=3)
        way = float(np.abs(result.points - cage.points).max())
        cage = replace(cage, points=result.points)
        if not result.clear or way < _SETTLED_MM:
            break
    return cage


def _goal(match: LineMatch, own: Array, follow: float) -> LineMatch:
    """The match with its places drawn back along the offset, so that a share of the way is left where follow is under 1."""
    left = (1.0 - follow) * match.offset
    return replace(match, places=own[match.rows] - ((match.offset - left)[:, None] * match.normals))


def _moves(
    cage: Cage,
    stencil: SkinStencil,
    wished: list[tuple[str, BikeLine, Index]],
    goals: dict[str, LineMatch],
    edges: Index,
    still: Mask,
) -> Array:
    """Moves (n, 3) of the cage points, mm."""
    count = len(cage.points)
    rows, right = [], []
    for key, line, chain in wished:
        goal, own = goals[key], own_line(cage, stencil, chain, line.view)
        scale = 1.0 / np.sqrt(len(goal.rows))
        weights = _weights(stencil, chain[goal.rows], count)
        row = np.zeros((len(goal.rows), count, 3))
        for axis, column in enumerate(COLUMNS[line.view]):
            row[:, :, column] = scale * goal.normals[:, axis, None] * weights[0 if column == 0 else 1]
        rows.append(row.reshape(len(goal.rows), 3 * count))
        right.append(scale * dot_rows(goal.places - own[goal.rows], goal.normals))
    system, wanted = np.concatenate(rows), np.concatenate(right)
    free = np.repeat(~still, 3)
    free[3 * np.flatnonzero(cage.topology.on_plane)] = False
    smooth = np.kron(_smoothness(edges, count), np.eye(3))
    normal = (system.T @ system + smooth)[np.ix_(free, free)]
    moves = np.zeros(3 * count)
    moves[free] = np.linalg.solve(normal, (system.T @ wanted)[free])
    return moves.reshape(count, 3)


def _smoothness(edges: Index, count: int) -> Array:
    """(n, n) what unequal moves of neighbors, and moves at all, cost."""
    cost = (LEAST**2 / count) * np.eye(count)
    a, b = edges.T
    share = EVEN**2 / max(len(edges), 1)
    for first, second, sign in ((a, a, 1.0), (b, b, 1.0), (a, b, -1.0), (b, a, -1.0)):
        np.add.at(cost, (first, second), sign * share)
    return cost


def _weights(stencil: SkinStencil, chosen: Index, count: int) -> tuple[Array, Array]:
    """(k, n) each: how far skin points move for cage points, in x, and in y and z."""
    rows = stencil.position
    in_x, else_ = np.zeros((len(chosen), count)), np.zeros((len(chosen), count))
    for number, row in enumerate(chosen.tolist()):
        entries = slice(int(rows.starts[row]), int(rows.starts[row + 1]))
        in_x[number, rows.index[entries]] = rows.x_weight[entries]
        else_[number, rows.index[entries]] = rows.weight[entries]
    return in_x, else_


def _edges(topology: CageTopology) -> Index:
    """(m, 2) int, each edge of the cage once."""
    pairs = []
    for begin, end in zip(topology.face_starts[:-1], topology.face_starts[1:], strict=True):
        face = topology.corners[begin:end]
        pairs.append(np.stack([face, np.roll(face, -1)], axis=1))
    return np.asarray(np.unique(np.sort(np.concatenate(pairs), axis=1), axis=0))
