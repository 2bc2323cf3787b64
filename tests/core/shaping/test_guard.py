# SPDX-License-Identifier: GPL-3.0-or-later
"""The guard against a second solver, by hand, and by what must never change."""

import numpy as np
import pytest
import scipy.optimize
from numpy.testing import assert_allclose, assert_array_equal

from addon.core.base.tolerances import TOLERANCES
from addon.core.bodies.box import Box
from addon.core.bodies.capsule import Capsule
from addon.core.bodies.half_space import HalfSpace
from addon.core.clearance.clearance_field import ClearanceField, Limit
from addon.core.shaping import guard as guard_module
from addon.core.shaping import tangent_round
from addon.core.shaping.guard import guard
from addon.core.shaping.guard_cache import GuardCache
from addon.core.shaping.point_freedom import SeatRows
from tests.core.guard_scenes import KINDS, leg_field, mirrored_grid, tire_field, whole_grid


class Dented:
    """A tire with a hollow: a body that is not convex, as a mesh may be. The larger of two distances."""

    convex = False

    def __init__(self, body, cut) -> None:
        self._body, self._cut = body, cut

    def distance(self, points):
        return np.maximum(self._body.distance(points), -self._cut.distance(points))

    def distance_and_gradient(self, points):
        body, cut = self._body.distance_and_gradient(points), self._cut.distance_and_gradient(points)
        inner = -cut[0] > body[0]
        return np.where(inner, -cut[0], body[0]), np.where(inner[:, None], -cut[1], body[1])


def middle(scene, reach: float = 90.0):
    """Points near the top of the cage."""
    top = scene.points[:, 2].argmax()
    return np.linalg.norm(scene.points - scene.points[top], axis=1) < reach


def pushed(scene, moved, step):
    target = scene.points.copy()
    target[moved] += step
    return target


@pytest.mark.parametrize("kind", KINDS)
def test_one_round_is_the_nearest_cage(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same quadratic program solved by scipy (SLSQP) over every plane.

    Without the lifting that saves cuts; what is left is the spare of 0.01 mm: 0.3 %.
    """
    monkeypatch.setattr(tangent_round, "_LIFT_BELOW_MM", 0.0)
    scene, field = KINDS[kind](), tire_field()
    moved = np.zeros(len(scene.points), bool)
    moved[np.flatnonzero(middle(scene))[:6]] = True
    fixed_x = scene.on_plane
    target = pushed(scene, moved, [3.0, 2.0, -45.0])
    skin = scene.stencil.apply(scene.points)
    distance, normal = field.limits[0].body.distance_and_gradient(skin)
    units = np.eye(3 * len(scene.points)).reshape(-1, len(scene.points), 3)
    free = np.flatnonzero((moved[:, None] & ~(fixed_x[:, None] & [True, False, False])).ravel())
    rows = np.stack([(normal * scene.stencil.apply(units[i])).sum(axis=1) for i in free], axis=1)
    reached = np.abs(rows).max(axis=1) > 1e-9
    rows, room = rows[reached], (distance - field.limits[0].required_mm)[reached]
    wish = (target - scene.points).ravel()[free]
    second = scipy.optimize.minimize(
        lambda x: ((x - wish) ** 2).sum(),
        np.zeros(len(free)),
        jac=lambda x: 2.0 * (x - wish),
        method="SLSQP",
        constraints={"type": "ineq", "fun": lambda x: rows @ x + room, "jac": lambda x: rows},
        options={"maxiter": 500},
    )
    assert second.success
    assert second.fun > 10.0
    result = guard(scene.points, target, scene.stencil, field, moved=moved, fixed_x=fixed_x, rounds=1)
    ours = (result.points - scene.points).ravel()[free]
    assert (rows @ ours + room).min() >= -TOLERANCES.clear
    assert ((ours - wish) ** 2).sum() <= 1.003 * second.fun
    assert result.active > 0


@pytest.mark.parametrize("kind", KINDS)
def test_lifting_costs_little_in_the_end(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Once settled, the sum of squares is within 0.5 % of that without lifting broken planes in any round."""
    scene = KINDS[kind]()
    moved = middle(scene)
    target = pushed(scene, moved, [0.0, 5.0, -50.0])
    costs = []
    for below in (tangent_round._LIFT_BELOW_MM, 0.0):
        monkeypatch.setattr(tangent_round, "_LIFT_BELOW_MM", below)
        result = guard(scene.points, target, scene.stencil, tire_field(), moved=moved, fixed_x=scene.on_plane, rounds=12)
        assert result.settled
        costs.append(((result.points - target) ** 2).sum())
    assert costs[1] > 100.0
    assert costs[0] == pytest.approx(costs[1], rel=0.005)


@pytest.mark.parametrize("kind", KINDS)
def test_cost_only_falls(kind: str) -> None:
    """Round after round; each clear when measured by the stencil rows themselves, not by the guard."""
    scene, field = KINDS[kind](), tire_field()
    moved = middle(scene)
    target = pushed(scene, moved, [0.0, 0.0, -60.0])
    clear, cost = scene.points, np.inf
    for _ in range(6):
        clear = guard(clear, target, scene.stencil, field, moved=moved, fixed_x=scene.on_plane, rounds=1).points
        assert field.excess(scene.stencil.apply(clear)).min() >= -TOLERANCES.clear
        assert ((clear - target) ** 2).sum() <= cost
        cost = ((clear - target) ** 2).sum()


def test_flat_body_by_hand() -> None:
    """Over a flat body, a cage pushed down as a whole comes to lie on it and keeps its way along it: X = T lifted."""
    scene = whole_grid()
    points = scene.points.copy()
    points[:, 2] = 20.0
    field = ClearanceField([Limit("floor", HalfSpace([0, 0, 0], [0, 0, 1]), 5.0)])
    target = points + np.array([7.0, -3.0, -80.0])
    result = guard(points, target, scene.stencil, field)
    assert result.clear and result.settled
    expected = points + np.array([7.0, -3.0, -15.0])
    # The spare of the broken planes, at most 0.01 mm of cage each; corners are held by few.
    assert_allclose(result.points, expected, rtol=0.0, atol=0.15)
    assert 0.0 <= result.points[:, 2].min() - 5.0 + 0.15
    assert abs(result.worst_mm) < 0.05


def test_clear_target_is_taken_exactly() -> None:
    scene = mirrored_grid()
    moved = middle(scene)
    lift = np.random.default_rng(8).uniform(1.0, 9.0, size=(int(moved.sum()), 3))
    lift[scene.on_plane[moved], 0] = 0.0
    lift[:, 2] += 30.0
    target = pushed(scene, moved, lift)
    # Near x = 0 numbers are finer than where the points come from: a sum of start and step would round.
    target[moved, 0] *= 1e-5
    result = guard(scene.points, target, scene.stencil, tire_field(), fixed_x=scene.on_plane)
    assert_array_equal(result.points, target)
    assert result.clear and result.settled and result.active == 0
    same = guard(scene.points, scene.points, scene.stencil, tire_field())
    assert_array_equal(same.points, scene.points)
    assert same.clear and same.rounds == 0


def test_unmoved_points_keep_every_bit() -> None:
    scene = mirrored_grid()
    moved = middle(scene)
    target = scene.points + np.random.default_rng(2).normal(size=scene.points.shape)
    target[moved, 2] -= 80.0
    result = guard(scene.points, target, scene.stencil, tire_field(), moved=moved, fixed_x=scene.on_plane)
    assert result.points[~moved].tobytes() == scene.points[~moved].tobytes()
    assert (result.points[moved] != scene.points[moved]).any()


def test_points_on_the_mirror_plane_stay_there() -> None:
    scene = mirrored_grid()
    target = pushed(scene, middle(scene), [9.0, 0.0, -70.0])
    result = guard(scene.points, target, scene.stencil, tire_field(), fixed_x=scene.on_plane)
    assert_array_equal(result.points[scene.on_plane, 0], 0.0)
    assert result.clear


def test_seat_points_stay_on_the_mount_plane() -> None:
    """Along the normal to 1e-9 mm, also where a point is on the mirror plane too; along the plane they are free."""
    scene = mirrored_grid()
    moved = middle(scene)
    seat = SeatRows(moved & (scene.points[:, 2] > scene.points[:, 2].max() - 8.0), np.array([0.0, 0.4, 2.0]))
    assert 2 <= seat.points.sum() < moved.sum() and (seat.points & scene.on_plane).any()
    target = pushed(scene, moved, [0.0, 25.0, -70.0])
    result = guard(scene.points, target, scene.stencil, tire_field(), fixed_x=scene.on_plane, seat=seat)
    step = (result.points - scene.points)[seat.points]
    assert_allclose(step @ seat.normal, 0.0, atol=1e-9)
    assert np.linalg.norm(step, axis=1).min() > 10.0
    assert_array_equal(result.points[scene.on_plane, 0], 0.0)
    assert result.clear and field_worst(scene, result) >= -TOLERANCES.clear


def field_worst(scene, result) -> float:
    return float(tire_field().excess(scene.stencil.apply(result.points)).min())


def test_two_limits_at_once() -> None:
    """Pushed down and out, between tire and fork leg: clear of both, and held by both."""
    scene, field = mirrored_grid(along=9, across=5), leg_field()
    moved = scene.points[:, 0] > 30.0
    target = pushed(scene, moved, [45.0, 0.0, -80.0])
    result = guard(scene.points, target, scene.stencil, field, fixed_x=scene.on_plane, rounds=6)
    skin = scene.stencil.apply(result.points)
    assert result.clear
    for limit in field.limits:
        assert -TOLERANCES.clear <= (limit.body.distance(skin) - limit.required_mm).min() < 0.2


def test_body_that_is_not_convex() -> None:
    """A tire with a hollow at the top: the skin goes into the hollow but not through its walls."""
    scene = whole_grid()
    dent = Dented(tire_field().limits[0].body, Box(np.array([0.0, 0.0, 305.0]), np.array([70.0, 130.0, 60.0]), np.eye(3)))
    field = ClearanceField([Limit("dented", dent, 3.0)])
    target = pushed(scene, middle(scene), [0.0, 0.0, -90.0])
    clear = scene.points
    for _ in range(8):
        result = guard(clear, target, scene.stencil, field, rounds=2)
        clear = result.points
        assert result.clear and field.excess(scene.stencil.apply(clear)).min() >= -TOLERANCES.clear
    whole = ClearanceField([Limit("tire", tire_field().limits[0].body, 3.0)])
    flat = guard(scene.points, target, scene.stencil, whole, rounds=16)
    assert clear[:, 2][middle(scene)].min() != pytest.approx(flat.points[:, 2][middle(scene)].min(), abs=0.5)


def test_time_budget_gives_a_clear_cage() -> None:
    scene = mirrored_grid(level=4)
    target = pushed(scene, middle(scene), [0.0, 0.0, -90.0])
    for budget in (0.0, 1e-4, 2e-3):
        result = guard(scene.points, target, scene.stencil, tire_field(), fixed_x=scene.on_plane, rounds=50, time_budget_s=budget)
        assert result.clear and field_worst(scene, result) >= -TOLERANCES.clear
    nothing = guard(scene.points, target, scene.stencil, tire_field(), fixed_x=scene.on_plane, time_budget_s=0.0)
    assert_array_equal(nothing.points, scene.points)
    assert nothing.rounds == 0 and not nothing.settled


def test_start_that_is_not_clear_is_left_alone() -> None:
    scene = whole_grid()
    low = scene.points - np.array([0.0, 0.0, 40.0])
    target = low - np.array([0.0, 0.0, 1.0])
    result = guard(low, target, scene.stencil, tire_field())
    assert not result.clear and result.worst_mm < -5.0
    assert_array_equal(result.points, low)


def test_cache_changes_nothing() -> None:
    """Calls with one cache, in any order, give what calls without give (1e-9 mm: beliefs change the order of steps)."""
    scene, cache = mirrored_grid(), GuardCache()
    narrow, wide = middle(scene, 70.0), middle(scene, 140.0)
    for moved, depth in ((narrow, 60.0), (wide, 60.0), (wide, 30.0), (narrow, 60.0)):
        target = pushed(scene, moved, [0.0, 0.0, -depth])
        cached = guard(scene.points, target, scene.stencil, tire_field(), moved=moved, fixed_x=scene.on_plane, cache=cache)
        alone = guard(scene.points, target, scene.stencil, tire_field(), moved=moved, fixed_x=scene.on_plane)
        assert_allclose(cached.points, alone.points, rtol=0.0, atol=1e-9)


def test_cache_is_not_fooled_by_arrays_written_into() -> None:
    """A caller that keeps one array and puts the cage into the tire behind the guard's back is told so."""
    scene, cache, field = whole_grid(), GuardCache(), tire_field()
    kept, moved = scene.points.copy(), middle(scene)
    guard(kept, pushed(scene, moved, [0.0, 0.0, -50.0]), scene.stencil, field, moved=moved, rounds=0, cache=cache)
    kept[:, 2] -= 40.0
    result = guard(kept, kept - 1.0, scene.stencil, field, moved=moved, cache=cache)
    assert not result.clear and result.worst_mm < -5.0


def test_too_few_cuts_still_give_a_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a single plane in a single cut the step is drawn back along the planes: clear without halving, and not nothing."""
    scene = mirrored_grid()
    target = pushed(scene, middle(scene), [0.0, 0.0, -150.0])
    monkeypatch.setattr(tangent_round, "_MOST_CUTS", 1)
    monkeypatch.setattr(tangent_round, "APART_MM", 1e6)
    monkeypatch.setattr(guard_module, "_HALVINGS", 1)
    result = guard(scene.points, target, scene.stencil, tire_field(), fixed_x=scene.on_plane, rounds=1)
    assert np.abs(result.points - scene.points).max() > 5.0
    assert -TOLERANCES.clear <= field_worst(scene, result) < 15.0


class Posts:
    """Two balls as one body: not convex, and from near one of them no plane warns of the other."""

    convex = False

    def __init__(self, apart: float, radius: float) -> None:
        self._balls = [Capsule([0.0, y, 0.0], [0.0, y, 0.0], radius) for y in (-apart / 2.0, apart / 2.0)]

    def distance(self, points):
        return np.min([ball.distance(points) for ball in self._balls], axis=0)

    def distance_and_gradient(self, points):
        (one, up), (other, away) = [ball.distance_and_gradient(points) for ball in self._balls]
        return np.minimum(one, other), np.where((one < other)[:, None], up, away)


def test_step_onto_another_part_of_a_body_is_halved() -> None:
    """A small sheet beside one post, pushed over onto the other: the planes of the first allow it, the second is met."""
    scene = whole_grid()
    points = 0.05 * (scene.points - scene.points.mean(axis=0)) + [0.0, -25.0, 0.0]
    field = ClearanceField([Limit("posts", Posts(120.0, 15.0), 0.0)])
    target = points + [0.0, 85.0, 0.0]
    assert field.excess(scene.stencil.apply(target)).min() < -10.0
    result = guard(points, target, scene.stencil, field, rounds=1)
    assert result.clear and field.excess(scene.stencil.apply(result.points)).min() >= -TOLERANCES.clear
    assert (result.points[:, 1] - points[:, 1]).min() > 20.0


def test_bad_input() -> None:
    scene = whole_grid()
    with pytest.raises(ValueError, match=r"target: shape \(3, 3\), expected \(42, 3\)"):
        guard(scene.points, scene.points[:3], scene.stencil, tire_field())
    with pytest.raises(ValueError, match="clear: holds a value that is not finite"):
        guard(np.full((42, 3), np.nan), scene.points, scene.stencil, tire_field())
    with pytest.raises(ValueError, match=r"moved: shape \(3,\), expected \(42,\)"):
        guard(scene.points, scene.points, scene.stencil, tire_field(), moved=np.ones(3, bool))
    with pytest.raises(ValueError, match="cage: 10 points, the stencil needs 42"):
        guard(scene.points[:10], scene.points[:10] - 1.0, scene.stencil, tire_field())
