# SPDX-License-Identifier: GPL-3.0-or-later
"""Bodies that move: against dense sampling of the motion, closed forms, and their own error bounds."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from addon.core.base.arrays import Array
from addon.core.bodies.axle_places import ArcPlaces, AxlePlaces, HullPlaces
from addon.core.bodies.body import Body
from addon.core.bodies.box import Box
from addon.core.bodies.capsule import Capsule
from addon.core.bodies.half_space import HalfSpace
from addon.core.bodies.lowest_along import MARCH_TOLERANCE
from addon.core.bodies.meridian_body import MeridianBody
from addon.core.bodies.moved_wheel import MovedWheel
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


def places(name: str) -> AxlePlaces:
    return {
        "slot": HullPlaces([[-10.0, 0.0], [25.0, 0.0]]),
        "slot and travel": HullPlaces([[-10.0, 0.0], [25.0, 0.0], [20.0, 110.0], [55.0, 110.0]]),
        "swingarm": ArcPlaces([-520.0, 40.0], (500.0, 545.0), (-9.0, 14.0)),
    }[name]


def place_samples(name: str) -> Array:
    """(n, 2) places of the set: written for these tests."""
    if name == "swingarm":
        rest = np.arctan2(-40.0, 520.0)
        radius, turn = np.meshgrid(np.linspace(500.0, 545.0, 24), rest + np.radians(np.linspace(-9.0, 14.0, 60)))
        return np.column_stack([-520.0 + (radius * np.cos(turn)).ravel(), 40.0 + (radius * np.sin(turn)).ravel()])
    along, up = np.meshgrid(np.linspace(-10.0, 25.0, 36), np.linspace(0.0, 1.0, 40 if name == "slot and travel" else 1))
    return np.column_stack([(along + 30.0 * up).ravel(), (110.0 * up).ravel()])


@pytest.mark.parametrize("name", ["slot", "slot and travel", "swingarm"])
def test_a_wheel_on_its_axle_places_against_brute_force(name: str) -> None:
    """Over 1,000 poses of the axle; between two of them the distance falls by no more than half their spacing, here 3 mm."""
    wheel = MeridianBody(arc_profile())
    moved, rng = MovedWheel(wheel, places(name)), np.random.default_rng(24)
    points = cloud(rng, 1500, 0.0, 600.0, 120.0)
    samples = place_samples(name)
    least = np.full(len(points), np.inf)
    for y, z in samples:
        least = np.minimum(least, wheel.distance(points - [0.0, y, z]))
    distance = moved.distance(points)
    outside = least > 0.0
    assert (distance <= least + 1e-9).all()
    assert (least - distance)[outside].max() < 3.0
    assert np.median((least - distance)[outside]) < 0.15
    assert moved.convex == (name != "swingarm")
    far = points[distance > 1.0]
    check_gradient(moved, far, share=0.97, tolerance=1e-3)
    if moved.convex:
        check_convex(moved, points, rng)


def test_a_wheel_in_a_slot_equals_the_general_sweep() -> None:
    wheel, points = MeridianBody(arc_profile()), cloud(np.random.default_rng(24), 3000, 0.0, 400.0, 90.0)
    short, general = MovedWheel(wheel, places("slot")), Swept(wheel, [0, 35.0, 0], [0, -10.0, 0])
    assert_allclose(short.distance(points), general.distance(points), rtol=0, atol=1e-8)
    outside = points[short.distance(points) > 0.01]
    assert_allclose(short.distance_and_gradient(outside)[1], general.distance_and_gradient(outside)[1], rtol=0, atol=1e-6)


def test_moved_wheels_in_closed_form() -> None:
    wheel = MeridianBody([[50.0, 300.0]])
    slot = MovedWheel(wheel, HullPlaces([[-10.0, 0.0], [25.0, 0.0]]))
    points = np.array([[0, 0, 307], [0, 20, 307], [0, 330, 0], [0, -330, 0], [56, 30, 20]], dtype=float)
    assert_allclose(slot.distance(points), [7, 7, 5, 20, 6], rtol=0, atol=1e-12)
    # about a pivot 500 ahead, level, up by 30 degrees: the axle ends 250 over it and 433 behind
    arm = MovedWheel(wheel, ArcPlaces([-500.0, 0.0], (500.0, 500.0), (0.0, 30.0)))
    end = np.array([0.0, -500.0 + 500.0 * np.cos(np.pi / 6), 250.0])
    points = np.stack([end + [0.0, 0.0, 310.0], [0.0, 0.0, -310.0], [0.0, 315.0, 0.0], [60.0, 0.0, 0.0]])
    assert_allclose(arm.distance(points), [10.0, 10.0, 15.0, 10.0], rtol=0, atol=1e-9)


@pytest.mark.parametrize("radii", [(0.0, 10.0), (20.0, 10.0)])
def test_refuses_places_that_are_none(radii: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="radii"):
        ArcPlaces([-500.0, 0.0], radii, (0.0, 10.0))
    with pytest.raises(ValueError, match="turns"):
        ArcPlaces([-500.0, 0.0], (490.0, 510.0), (10.0, 0.0))


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


@pytest.mark.parametrize("axis", [[0.0, 0.4226, 0.9063], [0.2, -0.3, 1.0]])
def test_turn_about_a_tilted_axis_against_brute_force(axis: list[float]) -> None:
    """scipy's rotations at 2,001 angles; the bound holds, and a ball's distance is that to its arc, in closed form."""
    body, pivot = convex_bodies()["box"], np.array([5.0, 33.0, -14.0])
    points = np.random.default_rng(28).uniform(-250.0, 250.0, (300, 3))
    moving = RotationSweep(body, pivot, 35.0, -28.0, axis=axis, reach=400.0, error=0.05)
    unit = np.array(axis) / np.linalg.norm(axis)
    least = np.full(len(points), np.inf)
    for degrees in np.linspace(-28.0, 35.0, 2001):
        back = Rotation.from_rotvec(-np.radians(degrees) * unit)
        least = np.minimum(least, body.distance(back.apply(points - pivot) + pivot))
    distance, gradient = moving.distance_and_gradient(points)
    away = points - pivot
    reach = np.linalg.norm(away - np.outer(away @ unit, unit), axis=1)
    assert (distance <= least + 1e-9).all()
    assert (distance >= least - moving.error_at(points) - reach * np.radians(63.0) / 4000 - 1e-9).all()
    assert_allclose(np.linalg.norm(gradient, axis=1), 1.0, rtol=0, atol=1e-12)


def test_ball_about_a_tilted_axis_in_closed_form() -> None:
    """A ball 80 mm off the axis runs on a circle: a point on the axis keeps the hypotenuse of that and its height over the plane."""
    rake = np.radians(25.0)
    axis = np.array([0.0, np.sin(rake), np.cos(rake)])
    across = np.array([0.0, np.cos(rake), -np.sin(rake)])
    center = 80.0 * across + 30.0 * axis
    moving = RotationSweep(Capsule(center, center, 5.0), [0, 0, 0], 60.0, -60.0, axis=axis, reach=200.0, error=0.001)
    turn = np.radians(40.0)
    on_circle = 80.0 * (np.cos(turn) * across + np.sin(turn) * np.cross(axis, across)) + 30.0 * axis
    points = np.stack([70.0 * axis, on_circle + 40.0 * axis])
    assert_allclose(moving.distance(points), [np.hypot(80.0, 40.0) - 5.0, 35.0], rtol=0, atol=0.002)


def test_refuses_motions_that_are_none() -> None:
    ball = Capsule([0, 0, 0], [0, 0, 0], 1.0)
    with pytest.raises(ValueError, match="finite"):
        Swept(ball, [0, np.nan, 0])
    with pytest.raises(ValueError, match="turn"):
        RotationSweep(ball, [0, 0, 0], 91.0)
    with pytest.raises(ValueError, match="axis"):
        RotationSweep(ball, [0, 0, 0], 10.0, axis=[0, 0, 0])
    with pytest.raises(ValueError, match="reach"):
        RotationSweep(ball, [0, 0, 0], 10.0, error=0.0)


@pytest.mark.parametrize("near", [5.0, 40.0])
def test_far_distances_are_lower_bounds_and_near_ones_as_ever(near: float) -> None:
    points = np.random.default_rng(27).uniform(-260.0, 260.0, (1200, 3))
    for swept in (Swept(Dumbbell(), np.array([25.0, -90.0, 10.0])), RotationSweep(Dumbbell(), (0.0, -300.0, 0.0), 25.0)):
        distance = swept.distance(points)
        told, gradient = swept.distance_within(points, near)
        close = distance < near - 1.0
        assert_allclose(told[close], distance[close], rtol=0, atol=MARCH_TOLERANCE)
        assert (told[~close] > near - 1.0 - MARCH_TOLERANCE).all() and (told <= distance + MARCH_TOLERANCE + 1e-9).all()
        assert_allclose(np.linalg.norm(gradient, axis=1), 1.0, atol=1e-9)


def test_line_straight_at_a_body_is_asked_a_few_times_only() -> None:
    """Marched in steps of the tolerance this would take 900 looks a point."""

    class Counted(Dumbbell):
        asked = 0

        def distance_and_gradient(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
            Counted.asked += len(points)
            return super().distance_and_gradient(points)

    points = np.random.default_rng(28).uniform(-160.0, 160.0, (500, 3)) + [0.0, 0.0, 220.0]
    Swept(Counted(), np.array([0.0, 0.0, 90.0])).distance(points)
    assert Counted.asked < 30 * len(points)
