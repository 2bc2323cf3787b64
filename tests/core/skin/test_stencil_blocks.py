# SPDX-License-Identifier: GPL-3.0-or-later
"""Blocked stencils give what the rows give."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from addon.core.skin.stencil_blocks import stencil_blocks
from addon.core.skin.stencil_rows import StencilRows
from tests.core.guard_scenes import KINDS


def plain(stencil: StencilRows) -> StencilRows:
    """The same rows, not known to come face by face."""
    return StencilRows(stencil.starts, stencil.index, stencil.weight, stencil.x_weight)


def dense(stencil: StencilRows, count: int) -> tuple[np.ndarray, np.ndarray]:
    row = np.repeat(np.arange(stencil.row_count), np.diff(stencil.starts))
    weight, x_weight = np.zeros((stencil.row_count, count)), np.zeros((stencil.row_count, count))
    weight[row, stencil.index], x_weight[row, stencil.index] = stencil.weight, stencil.x_weight
    return weight, x_weight


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("face_by_face", [True, False])
def test_same_as_rows(kind: str, face_by_face: bool) -> None:
    """1e-10 mm for sums in another order; each row is there, and each weight to the last bit."""
    scene = KINDS[kind]()
    stencil = scene.stencil if face_by_face else plain(scene.stencil)
    blocks = stencil_blocks(stencil)
    points = np.random.default_rng(3).normal(scale=200.0, size=scene.points.shape)
    assert_array_equal(np.unique(blocks.row), np.arange(stencil.row_count))
    assert_allclose(blocks.apply(points), stencil.apply(points)[blocks.row], rtol=0.0, atol=1e-10)
    which = np.random.default_rng(4).permutation(len(blocks.row))[:100]
    weight, x_weight = dense(stencil, len(points))
    found, found_x = blocks.dense_rows(which, len(points))
    assert_array_equal(found, weight[blocks.row[which]])
    assert_array_equal(found_x, x_weight[blocks.row[which]])


@pytest.mark.parametrize("kind", KINDS)
def test_reached(kind: str) -> None:
    """Blocks of moved points hold every row with a weight on one, and reach is the root of the weights' squares."""
    scene = KINDS[kind]()
    moved = np.zeros(len(scene.points), bool)
    moved[[1, 2, 9]] = True
    reached = stencil_blocks(scene.stencil).reached(moved)
    weight, x_weight = dense(scene.stencil, len(moved))
    touched = np.flatnonzero((weight[:, moved] != 0.0).any(axis=1))
    assert np.isin(touched, reached.row).all()
    expected = np.sqrt(((weight**2 + x_weight**2)[:, moved] / 2.0).sum(axis=1))[reached.row]
    assert_allclose(reached.reach(moved), expected, rtol=1e-12, atol=1e-15)
    places = np.array([0, 5, 33])
    thinned = reached.thinned(places)
    all_rows = reached.row.reshape(-1, 64)[:, places].ravel()
    assert_array_equal(thinned.row, all_rows)
    assert_allclose(thinned.apply(scene.points), scene.stencil.apply(scene.points)[all_rows], rtol=0.0, atol=1e-10)


@pytest.mark.filterwarnings("error")
def test_points_that_reach_no_skin_have_empty_blocks() -> None:
    scene = KINDS[next(iter(KINDS))]()
    blocks = stencil_blocks(scene.stencil).reached(np.zeros(len(scene.points), bool))
    assert blocks.apply(scene.points).shape == (0, 3)
    assert len(blocks.thinned(np.arange(4)).row) == 0
    assert len(blocks.reach(np.ones(len(scene.points), bool))) == 0
