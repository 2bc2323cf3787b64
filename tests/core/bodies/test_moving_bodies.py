# SPDX-License-Identifier: GPL-3.0-or-later
"""Bodies that move: against dense sampling of the motion, closed forms, and their own error bounds."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.arrays import Array
from addon.core.bodies.body import Body
from addon.core.bodies.box import Box
from addon.core.bodies.capsule import Capsule
from addon.core.bodies.half_space import HalfSpace
from addon.core.bodies.lowest_along import MARCH_TOLERANCE
from addon.core.bodies.meridian_body import MeridianBody
from addon.core.bodies.rotation_sweep import RotationSweep
from addon.core.bodies.swept import Swept
from tests.core.body_invariants import check_convex, check_gradient, check_support, check_unit_slope
from tests.core.revolved import arc_profile, cloud, rotation


class Dumbbell:
    """Two balls apart: a body that is not convex, for the march."""

    convex = False
    balls = (Capsule([0, 0, 0], [0, 0, 0], 10.0), Capsule([60, 0, 0], [60, 0, 0], 15.0))

    def distance(self, points: Array) -> Array:
        return np.minimum(*(ball.distance(points) for ball in self.balls))

    def distance_and_gradient(self, points: Array) -> tuple[Array, Array]:
        (first, first_gradient), (second, second_gradient) = (ball.distance_and_gradient(points) for ball in self.balls)
        return np.minimum(first, second), np.where((first < second)[:, None], first_gradient, second_gradient)


def convex_bodies() -> dict[str, Body]:
    return {
        "capsule": Capsule([10, -20, 30], [-40, 10, 60], 12.0),
        "box": Box([5, -10, 20], [60, 30, 44], rotation(np.random.default_rng(20))),
        "half-space": HalfSpace([0, 10, 0], [1, 2, -2]),
        "wheel": MeridianBody([[40.0, 60.0], [55.0, 30.0]]),
    }


def sampled(body: Body, points: Array, vector: Array, count: int = 2001) -> Array:
    least = np.full(len(points), np.inf)
    for t in np.linspace(0.0, 1.0, count):
        least = np.minimum(least, body.distance(points - t * vector))
    return least


@pytest.mark.parametrize("vector", [[0.0, 35.0, 0.0], [0.0, -50.0, -80.0], [30.0, 10.0, -60.0]])
@pytest.mark.parametrize("name", convex_bodies())
def test_sweep_equals_dense_sampling(name: str, vector: list[float]) -> None:
    # Half a sampling step is at most 0.025 mm: the sample is above the minimum by no more.
    body, way = convex_bodies()[name], np.array(vector)
    points = np.random.default_rng(21).uniform(-160.0, 160.0, (1500, 3))
    distance = Swept(body, way).distance(points)
    sample = sampled(body, points, way)
    assert (distance <= sample + 1e-9).all()
    assert (sample - distance <= 0.5 * np.linalg.norm(way) / 2000 + 1e-9).all()
    # At a smooth minimum the sample is above it by the square of the step only.
    assert np.median(sample - distance) < 1e-5


@pytest.mark.parametrize("vector", [[0.0, 35.0, 0.0], [30.0, 10.0, -60.0]])
@pytest.mark.parametrize("name", convex_bodies())
def test_sweep_invariants(name: str, vector: list[float]) -> None:
    rng = np.random.default_rng(22)
    body, points = Swept(convex_bodies()[name], vector), rng.uniform(-160.0, 160.0, (1200, 3))
    assert body.convex
    check_unit_slope(body, points, rng)
    check_convex(body, points, rng)
    outside = points[body.distance(points) > 1.0]
    check_support(body, outside, rng)
    check_gradient(body, outside, tolerance=1e-4)


def test_swept_ball_is_a_capsule() -> None:
    points = np.random.default_rng(23).uniform(-60.0, 90.0, (2000, 3))
    swept = Swept(Capsule([1, 2, 3], [1, 2, 3], 9.0), [20.0, -5.0, 30.0], begin=[4.0, 0.0, 1.0])
    rod = Capsule([5, 2, 4], [25, -3, 34], 9.0)
    distance, gradient = swept.distance_and_gradient(points)
    expected, expected_gradient = rod.distance_and_gradient(points)
    assert_allclose(distance, expected, rtol=0, atol=1e-9)
    assert_allclose(gradient, expected_gradient, rtol=0, atol=1e-6)


def test_axle_slot_shortcut_equals_the_general_search() -> None:
    # A sweep with a component along x, too small to matter, takes the general way.
    wheel, points = MeridianBody(arc_profile()), cloud(np.random.default_rng(24), 3000, 0.0, 400.0, 90.0)
    short, general = Swept(wheel, [0, 35.0, 0], [0, -10.0, 0]), Swept(wheel, [1e-13, 35.0, 0], [0, -10.0, 0])
    assert_allclose(short.distance(points), general.distance(points), rtol=0, atol=1e-8)
    outside = points[short.distance(points) > 0.01]
    assert_allclose(short.distance_and_gradient(outside)[1], general.distance_and_gradient(outside)[1], rtol=0, atol=1e-6)


def test_swept_wheel_in_closed_form() -> None:
    swept = Swept(MeridianBody([[50.0, 300.0]]), [0, 35.0, 0], begin=[0, -10.0, 0])
    points = np.array([[0, 0, 307], [0, 20, 307], [0, 330, 0], [0, -330, 0], [56, 30, 20]], dtype=float)
    assert_allclose(swept.distance(points), [7, 7, 5, 20, 6], rtol=0, atol=1e-12)


def test_sweep_of_no_length_changes_nothing() -> None:
    points = np.random.default_rng(25).uniform(-160.0, 160.0, (500, 3))
    for body in convex_bodies().values():
        assert_allclose(Swept(body, [0, 0, 0]).distance(points), body.distance(points), rtol=0, atol=1e-12)


def test_march_is_never_above_and_little_below() -> None:
    body, way = Dumbbell(), np.array([25.0, -90.0, 10.0])
    points = np.random.default_rng(26).uniform(-120.0, 120.0, (800, 3))
    swept = Swept(body, way)
    assert not swept.convex
    distance, sample = swept.distance(points), sampled(body, points, way)
    assert (distance <= sample + 1e-9).all()
    assert (distance >= sample - 0.5 * np.linalg.norm(way) / 2000 - MARCH_TOLERANCE - 1e-9).all()


@pytest.mark.parametrize(
    ("name", "turn"),
    [("capsule", 12.0), ("capsule", -40.0), ("box", 12.0), ("box", -40.0), ("half-space", 12.0), ("half-space", -12.0)],
)
def test_sequence_is_within_its_bound(name: str, turn: float) -> None:
    # 3,001 positions: the sample is above the least distance by at most half a step of the arc.
    body, pivot = convex_bodies()[name], np.array([0.0, -500.0, 20.0])
    points = np.random.default_rng(27).uniform(-200.0, 200.0, (300, 3))
    moving = RotationSweep(body, pivot, turn, reach=800.0, error=0.05)
    least = np.full(len(points), np.inf)
    for angle in np.radians(np.linspace(0.0, turn, 3001)):
        matrix = np.array([[1, 0, 0], [0, np.cos(angle), -np.sin(angle)], [0, np.sin(angle), np.cos(angle)]])
        # Row vectors times the matrix: turned back.
        least = np.minimum(least, body.distance((points - pivot) @ matrix + pivot))
    distance, gradient = moving.distance_and_gradient(points)
    bound = moving.error_at(points)
    reach = np.linalg.norm((points - pivot)[:, 1:], axis=1)
    assert not moving.convex
    assert (bound[reach <= 800.0] <= 0.05 + 1e-12).all()
    assert (distance <= least + 1e-9).all()
    assert (distance >= least - bound - reach * np.radians(abs(turn)) / 6000 - 1e-9).all()
    assert_allclose(np.linalg.norm(gradient, axis=1), 1.0, rtol=0, atol=1e-12)
    check_gradient(moving, points[distance > 1.0], share=0.97, tolerance=1e-3)


def test_sequence_turns_the_right_way() -> None:
    # A ball 100 behind the pivot (+y) that turns by -90 degrees about +x goes down to 100 under it.
    moving = RotationSweep(Capsule([0, 100, 0], [0, 100, 0], 5.0), [0, 0, 0], -90.0, reach=200.0, error=0.01)
    points = np.array([[0, 0, -100], [0, 100, 0], [0, 0, 100], [0, 70.7106781, -70.7106781]])
    expected = np.array([-5.0, -5.0, np.hypot(100, 100) - 5.0, -5.0])
    assert_allclose(moving.distance(points), expected, rtol=0, atol=0.01)


def test_refuses_motions_that_are_none() -> None:
    ball = Capsule([0, 0, 0], [0, 0, 0], 1.0)
    with pytest.raises(ValueError, match="finite"):
        Swept(ball, [0, np.nan, 0])
    with pytest.raises(ValueError, match="turn"):
        RotationSweep(ball, [0, 0, 0], 91.0)
    with pytest.raises(ValueError, match="reach"):
        RotationSweep(ball, [0, 0, 0], 10.0, error=0.0)
