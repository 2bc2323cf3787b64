# SPDX-License-Identifier: GPL-3.0-or-later
"""Cages that are not clear are made clear with little change, or said to be beyond it."""

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from addon.core.base.tolerances import TOLERANCES
from addon.core.bodies.box import Box
from addon.core.bodies.half_space import HalfSpace
from addon.core.clearance.clearance_field import ClearanceField, Limit
from addon.core.shaping.point_freedom import SeatRows
from addon.core.shaping.restore import make_clear
from tests.core.guard_scenes import KINDS, leg_field, mirrored_grid, tire, tire_field, whole_grid


@pytest.mark.parametrize("kind", KINDS)
def test_grown_envelope(kind: str) -> None:
    """8 mm more gap than there is: no point moves by more than three times the 8 mm, most by less."""
    scene = KINDS[kind]()
    room = float(tire_field().excess(scene.stencil.apply(scene.points)).min())
    field = ClearanceField([Limit("tire", tire(), 10.0 + room + 8.0)])
    assert field.excess(scene.stencil.apply(scene.points)).min() < -7.9
    result = make_clear(scene.points, scene.stencil, field, fixed_x=scene.on_plane)
    assert result.clear and field.excess(scene.stencil.apply(result.points)).min() >= -TOLERANCES.clear
    moved = np.linalg.norm(result.points - scene.points, axis=1)
    assert 7.0 < moved.max() < 24.0 and np.median(moved) < 8.5
    assert_array_equal(result.points[scene.on_plane, 0], 0.0)


def test_over_a_flat_body_it_is_the_lift() -> None:
    """All of a flat sheet 4 mm too low: lifted by 4 mm, to 0.2 mm (lifted planes), and not moved along the floor."""
    scene = whole_grid()
    points = scene.points.copy()
    points[:, 2] = 1.0
    field = ClearanceField([Limit("floor", HalfSpace([0, 0, 0], [0, 0, 1]), 5.0)])
    result = make_clear(points, scene.stencil, field)
    assert result.clear
    assert np.abs(result.points - points - [0.0, 0.0, 4.0]).max() < 0.2


def test_clear_cage_comes_back_as_it_is() -> None:
    scene = mirrored_grid()
    result = make_clear(scene.points, scene.stencil, tire_field(), fixed_x=scene.on_plane)
    assert_array_equal(result.points, scene.points)
    assert result.clear and result.rounds == 0


def test_deep_inside() -> None:
    """As deep as the tire is wide, where the planes point to all sides: still made clear."""
    scene, field = mirrored_grid(), leg_field()
    sunk = scene.points * np.array([1.0, 0.9, 0.4])
    assert field.excess(scene.stencil.apply(sunk)).min() < -60.0
    result = make_clear(sunk, scene.stencil, field, fixed_x=scene.on_plane)
    assert result.clear and field.excess(scene.stencil.apply(result.points)).min() >= -TOLERANCES.clear


def test_only_movable_points_move() -> None:
    scene, field = whole_grid(), tire_field()
    movable = scene.points[:, 1] < 0.0
    points = scene.points - movable[:, None] * np.array([0.0, 0.0, 30.0])
    result = make_clear(points, scene.stencil, field, movable=movable)
    assert result.clear
    assert result.points[~movable].tobytes() == points[~movable].tobytes()
    assert (result.points != points).any()


def test_what_cannot_be_cleared_is_said() -> None:
    """Points that may only move along a plane which lies within the body: unchanged and not clear."""
    scene = whole_grid()
    points = scene.points.copy()
    points[:, 2] = 2.0
    field = ClearanceField([Limit("slab", Box(np.zeros(3), np.array([1e5, 1e5, 20.0]), np.eye(3)), 1.0)])
    seat = SeatRows(np.ones(len(points), bool), np.array([0.0, 0.0, 1.0]))
    result = make_clear(points, scene.stencil, field, seat=seat)
    assert not result.clear and result.worst_mm < -8.0
    assert_array_equal(result.points, points)


def test_bad_input() -> None:
    scene = whole_grid()
    with pytest.raises(ValueError, match=r"movable: shape \(2,\), expected \(42,\)"):
        make_clear(scene.points, scene.stencil, tire_field(), movable=np.ones(2, bool))
    with pytest.raises(ValueError, match=r"points: shape \(42, 2\)"):
        make_clear(scene.points[:, :2], scene.stencil, tire_field())
