# SPDX-License-Identifier: GPL-3.0-or-later
"""Envelope, keep-outs, plate and the field of clearances, from whole job sheets; closed forms."""

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.arrays import Array
from addon.core.base.errors import JobError
from addon.core.base.tolerances import TOLERANCES
from addon.core.bodies.box import Box
from addon.core.bodies.capsule import Capsule
from addon.core.bodies.half_space import HalfSpace
from addon.core.bodies.meridian_body import MeridianBody
from addon.core.bodies.rotation_sweep import RotationSweep
from addon.core.bodies.swept import Swept
from addon.core.clearance.budget import budget
from addon.core.clearance.clearance_field import PLATE, TIRE, ClearanceField, Limit, clearance_field
from addon.core.clearance.envelope import envelope
from addon.core.clearance.keepout import keepout_bodies, plate_body, rotation_matrix
from addon.core.job.job_sheet import Job, parse_job
from addon.core.seat.mount import mount_frame
from addon.core.seat.seat_offset import seat_offset
from addon.core.tire.tire_profile import tire_profile
from tests.core.revolved import slow_distance


def job_with(**sections: Any) -> Job:
    data: dict[str, Any] = {
        "tire": {"size": "120/70-17"},
        "mount": {"height": 45.0, "bolts": [[-25, -15], [25, -15], [-25, 15], [25, 15]], "thread": "M6"},
        "clearance": {"gap": 12.0, "flex": 2.0, "coverage_factor": 2.0},
        "wall": {"thickness": 3.0},
    }
    data["tire"]["sigma"] = 0.5
    for name, section in sections.items():
        data[name] = {**data[name], **section} if isinstance(data.get(name), dict) else section
    return parse_job(data)


ROD = {"name": "rod", "kind": "capsule", "a": [90, 0, 300], "b": [90, 0, 500], "radius": 20.0, "gap": 6.0}
BOX = {"name": "caliper", "kind": "box", "center": [120, 50, 100], "size": [40, 60, 80], "rotation": [0, 0, 90]}
FRAME = {"name": "frame", "kind": "halfspace", "point": [0, 380, 0], "normal": [0, -2, 0], "moves_with": "chassis"}


def test_envelope_is_the_body_of_the_largest_profile() -> None:
    job = job_with()
    shape = envelope(job)
    assert isinstance(shape.body, MeridianBody)
    rho = shape.profile[0, 1]
    points = np.array([[0, 0, rho + 10], [shape.profile[-1, 0] + 7, 0, 30], [30, -200, rho]])
    assert_allclose(shape.body.distance(points)[:2], [10.0, 7.0])
    assert_allclose(shape.body.distance(points), slow_distance(shape.profile, points))
    given = tire_profile(job).largest
    assert_allclose(shape.body.radius_at(given[:, 0]), given[:, 1], rtol=0, atol=1e-9)


def test_axle_slot_moves_the_envelope_both_ways() -> None:
    still, moved = envelope(job_with()), envelope(job_with(travel={"axle_slot": [10.0, 25.0]}))
    rho = still.profile[0, 1]
    points = np.array([[0, rho + 30, 0], [0, -rho - 30, 0], [0, 10, rho + 5], [0, 0, -rho - 4]])
    assert_allclose(moved.body.distance(points), [5, 20, 5, 4], rtol=0, atol=1e-9)
    assert_allclose(moved.profile, still.profile)
    # One number: the axle was measured fully forward, so it moves rearward only.
    rearward = envelope(job_with(travel={"axle_slot": 35.0})).body
    assert_allclose(rearward.distance(points[:2]), [-5, 30], rtol=0, atol=1e-9)


def test_keepouts_of_each_kind() -> None:
    rod, box, frame = keepout_bodies(job_with(keepout=[ROD, BOX, FRAME]))
    assert isinstance(rod.body, Capsule) and isinstance(box.body, Box) and isinstance(frame.body, HalfSpace)
    assert (rod.name, rod.gap_mm, rod.side) == ("rod", 6.0, None)
    assert_allclose(rod.body.distance(np.array([[60.0, 0, 400]])), 10.0)
    # Turned by 90 degrees about z the box is 60 long in x and 40 in y.
    assert_allclose(box.body.distance(np.array([[155.0, 50, 100], [120, 75, 100], [120, 50, 145]])), 5.0)
    # Turned by 30 degrees about x, its y edges rise.
    tilted = keepout_bodies(job_with(keepout=[{**BOX, "rotation": [30, 0, 0]}]))[0].body
    assert_allclose(tilted.distance(np.array([[120.0, 50 + 35 * np.cos(np.pi / 6), 100 + 35 * 0.5]])), 5.0)
    # The body is on the side opposite the normal.
    assert_allclose(frame.body.distance(np.array([[0, 370.0, 0], [0, 390, 0]])), [10.0, -10.0])


def test_rotation_turns_about_x_then_y_then_z() -> None:
    assert_allclose(rotation_matrix((90, 0, 0)) @ [0, 1, 0], [0, 0, 1], atol=1e-15)
    assert_allclose(rotation_matrix((90, 90, 0)) @ [0, 1, 0], [1, 0, 0], atol=1e-15)
    assert_allclose(rotation_matrix((90, 90, 90)) @ [0, 1, 0], [0, 1, 0], atol=1e-15)
    assert_allclose(np.linalg.det(rotation_matrix((20, 30, 40))), 1.0)


def test_chassis_comes_down_along_the_fork() -> None:
    job = job_with(keepout=[FRAME, ROD], travel={"bump": 100.0, "fork_rake": 30.0})
    frame, rod = keepout_bodies(job)
    assert isinstance(frame.body, HalfSpace) and isinstance(rod.body, Capsule)
    points = np.random.default_rng(42).uniform(-400.0, 600.0, (500, 3))
    swept = Swept(HalfSpace(FRAME["point"], FRAME["normal"]), [0.0, -50.0, -100.0 * np.cos(np.pi / 6)])
    assert_allclose(frame.body.distance(points), swept.distance(points), rtol=0, atol=1e-9)
    assert_allclose(frame.body.distance(np.array([[0, 300.0, 0], [0, 360, 0]])), [30.0, -30.0], rtol=0, atol=1e-9)
    away = keepout_bodies(job_with(keepout=[{**FRAME, "normal": [0, 2, 0]}], travel={"bump": 100.0, "fork_rake": 30.0}))[0].body
    assert_allclose(away.distance(np.array([[0, 400.0, 0]])), 20.0)
    falling = keepout_bodies(job_with(keepout=[{**ROD, "moves_with": "chassis"}], travel={"bump": 100.0}))[0].body
    assert isinstance(falling, Swept)
    assert_allclose(falling.distance(np.array([[60.0, 0, 250]])), 10.0)


def test_rear_chassis_moves_straight_or_about_the_swingarm_pivot() -> None:
    seat = {"name": "seat", "kind": "capsule", "a": [0, 0, 500], "b": [0, 0, 500], "radius": 10.0, "moves_with": "chassis"}
    travel = {"bump": 80.0, "fork_rake": 30.0}
    straight = keepout_bodies(job_with(keepout=[seat], wheel={"position": "rear"}, travel=travel))[0].body
    assert_allclose(straight.distance(np.array([[0, 0, 400.0], [0, 30, 460.0]])), [10.0, 20.0], rtol=0, atol=1e-9)
    arc = keepout_bodies(job_with(keepout=[seat], wheel={"position": "rear"}, travel={**travel, "swingarm": 500.0}))[0].body
    assert isinstance(arc, RotationSweep)
    # About the pivot (y -500, z 0) the ball keeps its radius and ends asin(80 / 500) lower.
    angle = np.arctan2(500.0, 500.0) - np.arcsin(80.0 / 500.0)
    end = np.array([0.0, -500.0 + np.hypot(500, 500) * np.cos(angle), np.hypot(500, 500) * np.sin(angle)])
    beside = end + [30.0, 0.0, 0.0]
    # Never above the true distance, and 0.2 mm below it at most.
    assert_allclose(arc.distance(np.array([end, beside])), [-10.1, 19.9], rtol=0, atol=0.1)


def test_no_bump_no_sweep_and_too_much_bump_is_refused() -> None:
    assert isinstance(keepout_bodies(job_with(keepout=[FRAME]))[0].body, HalfSpace)
    with pytest.raises(JobError, match=r"travel\.bump"):
        keepout_bodies(job_with(keepout=[FRAME], wheel={"position": "rear"}, travel={"bump": 150.0, "swingarm": 120.0}))


def test_meshes_come_from_the_host() -> None:
    job = job_with(keepout=[{"name": "pipe", "kind": "mesh", "object": "Pipe"}])
    with pytest.raises(JobError, match="pipe"):
        keepout_bodies(job)
    ball = Capsule([0, 0, 400], [0, 0, 400], 5.0)
    assert keepout_bodies(job, lambda section: ball)[0].body is ball


@pytest.mark.parametrize("tilt", [0.0, 18.0])
@pytest.mark.parametrize("side", ["under", "over"])
@pytest.mark.parametrize("wall", ["inside", "middle", "outside"])
def test_seated_skin_just_touches_the_plate(tilt: float, side: str, wall: str) -> None:
    mount = {"side": side, "tilt": tilt, "plate": [80.0, 60.0, 5.0], "ahead": 12.0}
    job = job_with(mount=mount, wall={"thickness": 3.0, "side": wall})
    frame, limits = mount_frame(job), clearance_field(job).limits
    plate = limits[-1]
    assert plate.name == PLATE
    seated = frame.to_axes(np.random.default_rng(40).uniform(-29.0, 29.0, (200, 2)), seat_offset(job))
    distance, gradient = plate.body.distance_and_gradient(seated)
    assert_allclose(distance - plate.required_mm, 0.0, rtol=0, atol=1e-9)
    assert_allclose(gradient, np.tile(frame.up * (-1.0 if side == "under" else 1.0), (200, 1)), rtol=0, atol=1e-9)
    body = plate_body(job)
    assert body is not None
    inside = frame.to_axes(np.zeros(2), 2.5 if side == "under" else -2.5)
    assert_allclose(body.distance(inside[None]), -2.5)
    assert_allclose(clearance_field(job, "part").limits[-1].required_mm, 0.0)


@pytest.mark.parametrize(("wall", "inner", "outer"), [("inside", 3.0, 0.0), ("middle", 1.5, 1.5), ("outside", 0.0, 3.0)])
def test_required_clearances(wall: str, inner: float, outer: float) -> None:
    keepouts = [ROD, {**ROD, "name": "in", "side": "inside"}, {**ROD, "name": "out", "side": "outside"}]
    job = job_with(keepout=keepouts, wall={"thickness": 3.0, "side": wall})
    limits = {limit.name: limit for limit in clearance_field(job).limits}
    assert len(clearance_field(job).limits) == 7  # the rods stand on one side, and limit the other half by their images
    tire, rod, inside, outside = (limits[name] for name in (TIRE, ROD["name"], "in", "out"))
    facets = TOLERANCES.chord
    assert_allclose(tire.required_mm, budget(job).skin_required_mm + facets)
    # 6 gap, 2 flex, 2 x 0.5 uncertainty
    assert_allclose(rod.required_mm, 9.0 + max(inner, outer) + facets)
    assert_allclose([inside.required_mm, outside.required_mm], [9.0 + inner + facets, 9.0 + outer + facets])
    of_part = clearance_field(job, "part").limits
    assert_allclose(of_part[0].required_mm, budget(job).required_mm)
    assert_allclose([limit.required_mm for limit in of_part[1:]], 9.0)


def test_field_takes_the_least_of_its_limits() -> None:
    field = clearance_field(job_with(keepout=[ROD, BOX]))
    points: Array = np.random.default_rng(41).uniform(-150.0, 450.0, (2000, 3))
    each = np.stack([limit.body.distance(points) - limit.required_mm for limit in field.limits])
    assert_allclose(field.excess(points), each.min(axis=0), rtol=0, atol=1e-12)
    worst = field.worst(points)
    assert_allclose(worst.excess_mm, each.min())
    assert worst.index == each.min(axis=0).argmin()
    assert field.limits[worst.limit].name == worst.name
    assert_allclose(each[worst.limit, worst.index], worst.excess_mm)
    for (distance, normal), limit in zip(field.planes(points), field.limits, strict=True):
        assert_allclose(distance, limit.body.distance(points), rtol=0, atol=1e-12)
        assert_allclose(np.linalg.norm(normal, axis=1), 1.0)
    rod_only = ClearanceField([Limit("rod", field.limits[1].body, 0.0)])
    assert rod_only.worst(np.array([[90.0, 0, 400], [0, 0, 400]])).index == 0


def test_field_without_limits_or_points_is_refused() -> None:
    with pytest.raises(ValueError, match="limit"):
        ClearanceField([])
    with pytest.raises(ValueError, match="point"):
        clearance_field(job_with()).worst(np.zeros((0, 3)))
    assert clearance_field(job_with()).limits[0].name == TIRE


def test_a_plate_that_the_part_bears_on_counts_only_where_it_is_broken() -> None:
    body = HalfSpace((0.0, 0.0, 10.0), (0.0, 0.0, 1.0))
    plate = Limit("plate", HalfSpace((0.0, 0.0, 20.0), (0.0, 0.0, -1.0)), 0.0, bears=True)
    field = ClearanceField([Limit("tire", body, 2.0), plate])
    excess, limit = field.excess_and_limit(np.array([[0.0, 0.0, 20.0], [0.0, 0.0, 15.0], [0.0, 0.0, 20.5]]))
    assert_allclose(excess, [8.0, 3.0, -0.5])
    assert limit.tolist() == [0, 0, 1]


def least_over_both_halves(job: Job, points: Array) -> Array:
    """Excess of points of a half, brute force: each keep-out asked for the points and for their mirror images."""
    flip = np.array([-1.0, 1.0, 1.0])
    field = clearance_field(job)
    own = [field.limits[0], *(limit for limit in field.limits if limit.name != TIRE)]
    return np.min(
        [np.minimum(limit.body.distance(points), limit.body.distance(points * flip)) - limit.required_mm for limit in own], axis=0
    )


@pytest.mark.parametrize(
    "keepout",
    [
        {"kind": "capsule", "a": [-80.0, 0.0, 300.0], "b": [-80.0, 50.0, 400.0], "radius": 20.0},
        {"kind": "box", "center": [-80.0, 0.0, 330.0], "size": [40.0, 60.0, 30.0], "rotation": [0.0, 20.0, 5.0]},
        {"kind": "halfspace", "point": [-70.0, 0.0, 0.0], "normal": [1.0, 0.2, 0.0]},
    ],
)
def test_a_keepout_of_the_other_side_limits_the_half_that_is_shaped(keepout: dict[str, Any]) -> None:
    job = job_with(keepout=[{"name": "thing", **keepout}])
    points = np.random.default_rng(2).uniform([0.0, -150.0, 250.0], [130.0, 150.0, 450.0], (800, 3))
    excess = clearance_field(job).excess(points)
    assert_allclose(excess, least_over_both_halves(job, points), rtol=0, atol=1e-9)
    assert (excess < tire_only(job, points) - 1.0).any()


def tire_only(job: Job, points: Array) -> Array:
    tire = clearance_field(job).limits[0]
    return tire.body.distance(points) - tire.required_mm


def test_the_image_of_a_pair_is_not_asked_twice() -> None:
    left = {"name": "left", "kind": "capsule", "a": [80.0, 0.0, 300.0], "b": [80.0, 50.0, 400.0], "radius": 20.0}
    right = {**left, "name": "right", "a": [-80.0, 50.0, 400.0], "b": [-80.0, 0.0, 300.0]}
    assert [limit.name for limit in clearance_field(job_with(keepout=[left, right])).limits] == [TIRE, "left", "right"]
    near = {**right, "gap": 2.0}
    names = [limit.name for limit in clearance_field(job_with(keepout=[left, near])).limits]
    assert names == [TIRE, "left", "left", "right"]
    middle = {"name": "middle", "kind": "box", "center": [0.0, 0.0, 330.0], "size": [40.0, 60.0, 30.0]}
    assert [limit.name for limit in clearance_field(job_with(keepout=[middle])).limits] == [TIRE, "middle"]
