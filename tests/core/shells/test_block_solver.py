# SPDX-License-Identifier: GPL-3.0-or-later
"""Rows of a mesh, and the equations solved along them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from addon.core.shells.block_solver import BlockSolver, NotHeldError
from addon.core.shells.levels import point_levels
from tests.core.shells.shell_scenes import grid_shell


def strip_matrix(sizes: list[int]) -> tuple[list[np.ndarray], list[np.ndarray], np.ndarray]:
    """Random blocks of a positive definite matrix, and the matrix."""
    draw = np.random.default_rng(7)
    starts = np.cumsum([0, *sizes])
    whole = np.zeros((starts[-1], starts[-1]))
    for i in range(len(sizes) - 1):
        rows = slice(starts[i], starts[i + 2])
        part = draw.standard_normal((sizes[i] + sizes[i + 1],) * 2)
        whole[rows, rows] += part @ part.T
    spans = [slice(a, b) for a, b in pairwise(starts)]
    diagonal = [whole[span, span] for span in spans]
    return diagonal, [whole[a, b] for a, b in pairwise(spans)], whole


def test_same_answers_as_dense() -> None:
    diagonal, upper, whole = strip_matrix([3, 5, 2, 7, 4])
    loads = np.random.default_rng(8).standard_normal((len(whole), 3))
    assert_allclose(BlockSolver(diagonal, upper).solve(loads), np.linalg.solve(whole, loads), rtol=1e-8, atol=1e-10)


def test_singular_matrix_is_refused_at_its_row() -> None:
    diagonal, upper, _ = strip_matrix([3, 5, 2])
    free = np.array([[1.0, -1.0], [-1.0, 1.0]])
    with pytest.raises(NotHeldError) as caught:
        BlockSolver([*diagonal, free], [*upper, np.zeros((2, 2))])
    assert caught.value.row == 3


def test_rows_touch_only_their_neighbors_and_are_short() -> None:
    mesh = grid_shell(40, 5, lambda u, v: (u, v, 0.0 * u), 1.0)
    middle = int(np.argmin(np.linalg.norm(mesh.points - mesh.points.mean(axis=0), axis=1)))
    names = np.roll(np.arange(len(mesh.points)), middle)  # the first point is in the middle, where no row should begin
    triangles = np.random.default_rng(1).permutation(names[mesh.triangles])
    far = np.concatenate([triangles, triangles + len(mesh.points)])  # a second one beside it, not joined
    rows = point_levels(far, 2 * len(mesh.points) + 1)
    level = np.full(2 * len(mesh.points) + 1, -9)
    for number, row in enumerate(rows):
        level[row] = number
    assert level[-1] == -9  # in no triangle
    assert_array_equal(np.sort(np.concatenate(rows)), np.arange(2 * len(mesh.points)))
    assert np.ptp(level[far], axis=1).max() <= 1
    assert max(map(len, rows)) <= 12
