# SPDX-License-Identifier: GPL-3.0-or-later
"""Draft and pull direction against closed forms."""

import numpy as np
import pytest
from scipy.optimize import minimize

from addon.core.laminate.draft import draft
from addon.core.laminate.pull_direction import _nearest_of_hull, pull_direction
from tests.core.laminate.grids import cone, cylinder, grid, turned


@pytest.mark.parametrize("half_angle", [0.5, 3.0, 12.0, 45.0])
def test_draft_of_a_cone_is_its_half_angle(half_angle: float) -> None:
    found = draft(*cone(half_angle, 64), (0.0, 0.0, 7.0))
    assert found.least == pytest.approx(half_angle, abs=1e-9)
    np.testing.assert_allclose(found.angles, half_angle, atol=1e-8)
    assert found.undercut == 0.0 and found.undercut_place is None


@pytest.mark.parametrize("tilt", [1.0, 5.0, 30.0])
def test_half_of_a_tilted_cylinder_is_undercut(tilt: float) -> None:
    """n . pull = sin(tilt) cos(turn): one half of the side, pi r l, and the least draft is -tilt."""
    sides = 720
    points, triangles = cylinder(np.linspace(0.0, 2.0 * np.pi, sides + 1))
    found = draft(turned(points, tilt), triangles, (0.0, 0.0, 1.0))
    assert found.undercut == pytest.approx(np.pi * 50.0 * 200.0, rel=1e-4)
    assert found.least == pytest.approx(-tilt, abs=1e-3)
    assert found.undercut_place is not None
    middle = turned(np.array([[0.0, 0.0, 100.0]]), tilt)[0]
    assert np.linalg.norm(found.undercut_place - middle) == pytest.approx(2.0 / np.pi * 50.0, rel=1e-3)
    assert found.undercut_place[0] > middle[0]


def test_lying_cylinder_past_its_half_is_undercut_by_its_tucked_sides() -> None:
    """An arc of 220 degrees over the top: 2 x 20 degrees of it look down, r l 40 deg."""
    points, triangles = cylinder(np.radians(np.linspace(-110.0, 110.0, 441)))
    found = draft(points, triangles, (1.0, 0.0, 0.0))
    assert found.undercut == pytest.approx(50.0 * 200.0 * np.radians(40.0), rel=1e-4)
    assert found.least == pytest.approx(-20.0, abs=0.3)


def test_best_pull_of_a_cone_and_of_a_cap() -> None:
    points, triangles = cone(8.0, 90)
    np.testing.assert_allclose(
        pull_direction(turned(points, 37.0), triangles), turned(np.array([[0.0, 0.0, 1.0]]), 37.0)[0], atol=1e-6
    )
    cap = grid(
        np.radians(np.linspace(0.0, 360.0, 73)),
        np.radians(np.linspace(70.0, 1.0, 40)),
        lambda turn, off: np.stack([np.sin(off) * np.cos(turn), np.sin(off) * np.sin(turn), np.cos(off)], axis=1) * 80.0,
    )
    found = draft(*cap, pull_direction(*cap))
    np.testing.assert_allclose(found.pull, [0.0, 0.0, 1.0], atol=2e-3)
    assert found.least == pytest.approx(20.0, abs=1.2)


def test_best_pull_beats_all_of_a_fine_grid() -> None:
    rng = np.random.default_rng(5)
    points, triangles = cone(20.0, 50)
    points = turned(points, 25.0) * [1.0, 0.6, 1.3] + rng.normal(scale=0.05, size=points.shape)
    best = draft(points, triangles, pull_direction(points, triangles)).least
    ways = rng.normal(size=(3000, 3))
    assert best > 0.0
    assert best >= max(draft(points, triangles, way).least for way in ways) - 1e-6


def test_least_undercut_where_every_pull_has_one() -> None:
    """An arc of 220 degrees about z, capped by nothing: pulled at its middle, x, it is undercut least."""
    points, triangles = cylinder(np.radians(np.linspace(-110.0, 110.0, 221)))
    pull = pull_direction(points, triangles)
    assert draft(points, triangles, pull).undercut <= 1.02 * draft(points, triangles, (1.0, 0.0, 0.0)).undercut


@pytest.mark.parametrize("away", [0.0, 0.4, 1.5])
def test_nearest_point_of_a_hull(away: float) -> None:
    """scipy's minimizer over the shares of the corners; a hull about the origin has it at 0."""
    rng = np.random.default_rng(8)
    for _ in range(12):
        points = rng.normal(size=(25, 3)) * 0.6 + [away, 0.0, 0.0]
        found = _nearest_of_hull(points)
        best = minimize(
            lambda share, points=points: float(np.square(share @ points).sum()),
            np.full(25, 0.04),
            bounds=[(0.0, 1.0)] * 25,
            constraints={"type": "eq", "fun": lambda share: share.sum() - 1.0},
            options={"maxiter": 400, "ftol": 1e-14},
        )
        np.testing.assert_allclose(np.linalg.norm(found), np.sqrt(best.fun), atol=2e-4)


def test_parting_face_counts() -> None:
    """Half of a lying half cylinder, pulled away from the face on its middle plane: both get 45 degrees."""
    points, triangles = cylinder(np.radians(np.linspace(0.0, 89.9, 200)))
    pull = pull_direction(points, triangles, np.array([[0.0, 1.0, 0.0]]))
    np.testing.assert_allclose(pull, np.array([1.0, 1.0, 0.0]) / np.sqrt(2.0), atol=5e-3)


def test_no_pull_and_no_surface_are_refused() -> None:
    points, triangles = cone(5.0, 12)
    with pytest.raises(ValueError, match="pull with a length"):
        draft(points, triangles, (0.0, 0.0, 0.0))
    with pytest.raises(ValueError, match="facet with an area"):
        pull_direction(points, triangles[:0])
