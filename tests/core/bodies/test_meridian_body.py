# SPDX-License-Identifier: GPL-3.0-or-later
"""The body of revolution against all edges in turn, against trimesh on a tessellated twin, and against its invariants."""

import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from addon.core.base.arrays import Array
from addon.core.base.wheel_axes import point_at
from addon.core.bodies.meridian_body import MeridianBody
from addon.core.tire.convex_profile import convex_profile
from tests.core.body_invariants import check_convex, check_gradient, check_support, check_unit_slope
from tests.core.revolved import PROFILES, arc_profile, cloud, random_profile, slow_distance


def places(rng: np.random.Generator, profile: Array, count: int) -> Array:
    """Near, far, deep, at the center plane, at the axle, and right on the boundary."""
    crown, half_width = profile[:, 1].max(), profile[:, 0].max()
    on_profile = convex_profile(profile)[rng.integers(0, len(convex_profile(profile)), count)]
    return np.concatenate(
        [
            cloud(rng, count, 0.8 * crown, 1.15 * crown, 1.5 * half_width),
            cloud(rng, count, 0.0, 10.0 * crown, 20.0 * half_width),
            cloud(rng, count, 0.0, crown, half_width),
            cloud(rng, count, 0.0, 1.2 * crown, 0.0),
            cloud(rng, count, 0.0, 0.0, 2.0 * half_width),
            point_at(on_profile[:, 1], rng.uniform(-180, 180, count), on_profile[:, 0]),
            point_at(rng.uniform(0, 1.3 * crown, count), 12.0, half_width * rng.choice([-1.0, 1.0], count)),
        ]
    )


@pytest.mark.parametrize("name", PROFILES)
def test_equals_the_search_over_all_edges(name: str) -> None:
    # Tolerance asked for: 1e-6 mm; both are exact, so that rounding alone is left.
    points = places(np.random.default_rng(1), PROFILES[name], 4000)
    body = MeridianBody(PROFILES[name])
    assert_allclose(body.distance(points), slow_distance(body.profile, points), rtol=1e-13, atol=1e-10)


def test_equals_the_search_for_random_profiles() -> None:
    rng = np.random.default_rng(2)
    for _ in range(40):
        profile = random_profile(rng)
        body, points = MeridianBody(profile), places(rng, profile, 300)
        assert_allclose(body.distance(points), slow_distance(body.profile, points), rtol=1e-13, atol=1e-10)


def test_medial_axis_is_exact() -> None:
    # Equally far from the crown and from the side of a 100 x 300 cylinder: on rho = 300 - (50 - |x|).
    offset = np.linspace(-50.0, 50.0, 1001)
    points = point_at(250.0 + np.abs(offset), 40.0, offset)
    assert_allclose(MeridianBody([[50.0, 300.0]]).distance(points), np.abs(offset) - 50.0, rtol=0, atol=1e-12)


def test_few_points_equal_many() -> None:
    points = places(np.random.default_rng(3), PROFILES["arc"], 3000)
    body = MeridianBody(PROFILES["arc"])
    distance, gradient = body.distance_and_gradient(points)
    for begin in range(0, len(points), 997):
        some = slice(begin, begin + 997)
        few, few_gradient = body.distance_and_gradient(points[some])
        assert_allclose(few, distance[some], rtol=0, atol=1e-12)
        assert_allclose(few_gradient, gradient[some], rtol=0, atol=1e-9)
    assert body.distance(np.zeros((0, 3))).shape == (0,)


def test_cylinder_in_closed_form() -> None:
    body = MeridianBody([[50.0, 300.0]])
    points = np.array([[0, 0, 310], [0, -305, 0], [60, 0, 0], [-53, 0, 304], [0, 0, 0], [49, 0, 200], [0, 180, 240]], dtype=float)
    distance, gradient = body.distance_and_gradient(points)
    assert_allclose(distance, [10, 5, 10, 5, -50, -1, 0], rtol=0, atol=1e-12)
    assert_allclose(gradient[[0, 1, 2, 3]], [[0, 0, 1], [0, -1, 0], [1, 0, 0], [-0.6, 0, 0.8]], rtol=0, atol=1e-12)


def test_peak_on_the_center_plane() -> None:
    body = MeridianBody([[0.0, 300.0], [80.0, 0.0]])
    distance, gradient = body.distance_and_gradient(np.array([[0.0, 0.0, 320.0], [0.0, -30.0, 0.0]]))
    assert_allclose(distance[0], 20.0)
    assert_allclose(gradient[0], [0.0, 0.0, 1.0], atol=1e-12)
    assert_allclose(distance[1], -270.0 * 80.0 / np.hypot(300.0, 80.0))


def test_axle_has_a_unit_gradient_toward_station_0() -> None:
    distance, gradient = MeridianBody([[0.0, 300.0], [80.0, 0.0]]).distance_and_gradient(np.array([[0, 0, 0], [120, 0, 0.0]]))
    assert_allclose(distance, [-300.0 * 80.0 / np.hypot(300.0, 80.0), 40.0])
    assert_allclose(np.linalg.norm(gradient, axis=1), 1.0)
    assert gradient[0, 1] == 0.0 and gradient[0, 2] > 0.0
    assert_allclose(gradient[1], [1.0, 0.0, 0.0], atol=1e-12)


@pytest.mark.parametrize("name", PROFILES)
def test_invariants(name: str) -> None:
    rng = np.random.default_rng(4)
    body, points = MeridianBody(PROFILES[name]), places(rng, PROFILES[name], 600)
    assert body.convex
    check_unit_slope(body, points, rng)
    check_convex(body, points, rng)
    check_support(body, points, rng)
    # The curvature jumps where the nearest edge changes: half a step over the distance.
    outside = points[body.distance(points) > 1.0]
    check_gradient(body, outside[outside[:, 0] != 0.0], tolerance=1e-4)
    check_gradient(body, cloud(rng, 2000, 20.0, 230.0, 40.0), share=0.98)


def test_mirror_and_rotation_about_the_axle() -> None:
    rng = np.random.default_rng(5)
    body, points = MeridianBody(PROFILES["flat crown"]), cloud(rng, 3000, 0.0, 400.0, 100.0)
    distance, gradient = body.distance_and_gradient(points)
    mirrored, mirrored_gradient = body.distance_and_gradient(points * [-1, 1, 1])
    assert_allclose(mirrored, distance, rtol=0, atol=1e-12)
    assert_allclose(mirrored_gradient, gradient * [-1, 1, 1], rtol=0, atol=1e-12)
    turn = np.array([[1, 0, 0], [0, 0.6, -0.8], [0, 0.8, 0.6]])
    turned, turned_gradient = body.distance_and_gradient(points @ turn.T)
    assert_allclose(turned, distance, rtol=0, atol=1e-11)
    outside = distance > 0.01
    assert_allclose(turned_gradient[outside], gradient[outside] @ turn.T, rtol=0, atol=1e-9)


def test_equals_trimesh_on_a_tessellated_twin() -> None:
    # 2,000 facets about the axle: they lie inside of the body by at most 300 (1 - cos(pi / 2000)) = 0.0004 mm.
    body, count = MeridianBody(PROFILES["coarse arc"]), 2000
    closed = np.vstack([body.profile, [body.profile[-1, 0], 0.0]])
    both = np.vstack([closed[::-1] * [-1, 1], closed[1:]])
    twin = trimesh.creation.revolve(both[:, ::-1], sections=count)
    twin.vertices = twin.vertices[:, [2, 0, 1]]
    twin.fix_normals()
    assert twin.is_watertight
    points = cloud(np.random.default_rng(6), 150, 200.0, 350.0, 90.0)
    nearest, unsigned, _ = trimesh.proximity.closest_point(twin, points)
    distance, gradient = body.distance_and_gradient(points)
    assert_allclose(np.abs(distance), unsigned, rtol=0, atol=5e-4)
    assert_allclose(-np.sign(distance), np.sign(trimesh.proximity.signed_distance(twin, points)))
    off = np.linalg.norm(points - distance[:, None] * gradient - nearest, axis=1)
    # Foot points on flat facets lie up to half a facet (0.47 mm) along the surface away.
    assert (off < 0.5).mean() > 0.98


def test_radius_at() -> None:
    body = MeridianBody(PROFILES["peak"])
    assert_allclose(body.radius_at([0.0, -20.0, 40.0, 55.0]), [300.0, 290.0, 280.0, 240.0])
    assert np.isnan(body.radius_at(56.0))
    assert (body.largest_radius, body.largest_offset) == (300.0, 55.0)


def test_convex_profile_contains_all_points_and_never_rises() -> None:
    rng = np.random.default_rng(7)
    for _ in range(50):
        points = random_profile(rng)
        hull = convex_profile(points)
        assert hull[0, 0] == 0.0 and hull[-1, 0] == points[:, 0].max()
        assert (np.diff(hull[:, 0]) > 0.0).all() and (np.diff(hull[:, 1]) <= 0.0).all()
        assert (np.diff(np.diff(hull[:, 1]) / np.diff(hull[:, 0])) < 0.0).all()
        assert (points[:, 1] <= np.interp(points[:, 0], hull[:, 0], hull[:, 1]) + 1e-9).all()


def test_convex_profile_in_closed_form() -> None:
    hull = convex_profile([[10.0, 300.0], [0.0, 295.0], [30.0, 290.0], [20.0, 291.0], [30.0, 200.0]])
    assert_allclose(hull, [[0.0, 300.0], [10.0, 300.0], [30.0, 290.0]])


@pytest.mark.parametrize("bad", [[], [[1.0, 2.0, 3.0]], [[-1.0, 300.0]], [[np.nan, 300.0]], [[0.0, 300.0]], [[50.0, 0.0]]])
def test_refuses_profiles_without_a_body(bad: list[list[float]]) -> None:
    with pytest.raises(ValueError, match="profile"):
        MeridianBody(bad)


@pytest.mark.parametrize("bad", [[[1.0, 2.0]], [[1.0, 2.0, np.nan]], [1.0, 2.0, 3.0]])
def test_refuses_bad_points(bad: list[float]) -> None:
    with pytest.raises(ValueError, match="points"):
        MeridianBody(arc_profile()).distance(bad)
