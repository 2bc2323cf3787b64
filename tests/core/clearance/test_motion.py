# SPDX-License-Identifier: GPL-3.0-or-later
"""What moves against a fender, by what carries it: against 1,000 poses, scipy's rotations and the textbook's trail."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from addon.core.base.arrays import Array
from addon.core.base.errors import JobError
from addon.core.bodies.capsule import Capsule
from addon.core.clearance.bike_geometry import SteeringAxis, steering_axis, swingarm
from addon.core.clearance.check_motion import check_motion, motion_cautions
from addon.core.clearance.clearance_field import clearance_field
from addon.core.clearance.envelope import envelope
from addon.core.clearance.keepout import keepout_bodies
from addon.core.clearance.motion import Pose, motion_of
from addon.core.clearance.room import check_room
from addon.core.clearance.worst_pose import limit_pose, pose_words
from addon.core.job.job_sheet import Job, parse_job

FORK = {"bump": 60.0, "rebound": 40.0, "fork_rake": 25.0, "fork_offset": 35.0, "lock": [32.0, 28.0]}
ARM = {"bump": 70.0, "rebound": 35.0, "pivot": [540.0, 45.0]}


def job_of(carried_by: str = "axle", position: str = "front", travel: dict[str, Any] | None = None, **sections: Any) -> Job:
    return parse_job(
        {
            "wheel": {"position": position},
            "tire": {"size": "120/70 ZR17", "measured_radius": 300, "sigma": 0.5},
            "mount": {"height": 120, "bolts": [[25, 30], [-25, -30]], "thread": "M6", "carried_by": carried_by},
            "clearance": {"gap": 8, "runout_radial": 1, "runout_lateral": 1, "flex": 2},
            "wall": {"thickness": 3},
            "travel": travel if travel is not None else (FORK if position == "front" else ARM),
            **sections,
        }
    )


def fork_pose(points: Array, part: str, travel_mm: float, left_deg: float) -> Array:
    """Points of a part of the bike at a pose, in the frame's axes: written for this test from facts of geometry."""
    rake = np.radians(25.0)
    up, through = np.array([0.0, np.sin(rake), np.cos(rake)]), 35.0 * np.array([0.0, np.cos(rake), -np.sin(rake)])
    if part == "chassis":
        return points
    moved = points + travel_mm * up if part == "wheel" else points
    return Rotation.from_rotvec(np.radians(left_deg) * up).apply(moved - through) + through


def fork_back(points: Array, part: str, travel_mm: float, left_deg: float) -> Array:
    rake = np.radians(25.0)
    up, through = np.array([0.0, np.sin(rake), np.cos(rake)]), 35.0 * np.array([0.0, np.cos(rake), -np.sin(rake)])
    if part == "chassis":
        return points
    back = Rotation.from_rotvec(-np.radians(left_deg) * up).apply(points - through) + through
    return back - travel_mm * up if part == "wheel" else back


PARTS = {"axle": "wheel", "steering": "steering", "frame": "chassis"}


@pytest.mark.parametrize(("carried_by", "part"), list(product(PARTS, ("wheel", "steering", "chassis"))))
def test_what_is_fixed_to_a_part_is_swept_as_a_thousand_poses_are(carried_by: str, part: str) -> None:
    """A rod on each part of the bike, seen from a fender on each: 31 times 33 poses. The sweep is never farther, and nearer by
    no more than its bound and half a step of the poses (1.7 mm of travel, 0.9 degrees)."""
    rod = {"name": "rod", "kind": "capsule", "a": [60, 150, 330], "b": [80, 190, 420], "radius": 15.0, "moves_with": part}
    job = job_of(carried_by, keepout=[rod])
    keepout = keepout_bodies(job)[0]
    body = Capsule([60, 150, 330], [80, 190, 420], 15.0)
    points = np.random.default_rng(5).uniform([-250, -250, 150], [250, 350, 600], (250, 3))
    least = np.full(len(points), np.inf)
    for travel_mm, left in product(np.linspace(-40.0, 60.0, 31), np.linspace(-28.0, 32.0, 33)):
        of_part = fork_back(fork_pose(points, PARTS[carried_by], travel_mm, left), part, travel_mm, left)
        least = np.minimum(least, body.distance(of_part))
    distance = keepout.body.distance(points)
    assert (distance <= least + 1e-6).all()
    assert (least - distance).max() < 0.2 + 1.7 + 500 * np.radians(0.95)
    assert np.median(least - distance) < 0.25
    assert keepout.motion.moves == (part != PARTS[carried_by])


@pytest.mark.parametrize("carried_by", ["axle", "steering", "frame"])
def test_the_envelope_of_a_front_wheel_is_swept_as_poses_are(carried_by: str) -> None:
    job = job_of(carried_by)
    around = envelope(job)
    points = np.random.default_rng(6).uniform([-200, -450, 0], [200, 450, 600], (200, 3))
    least = np.full(len(points), np.inf)
    for travel_mm, left in product(np.linspace(-40.0, 60.0, 31), np.linspace(-28.0, 32.0, 33)):
        of_wheel = fork_back(fork_pose(points, PARTS[carried_by], travel_mm, left), "wheel", travel_mm, left)
        least = np.minimum(least, around.wheel.distance(of_wheel))
    outside = least > 0.0
    distance = around.body.distance(points)
    assert (distance <= least + 1e-6)[outside].all()
    assert np.median((least - distance)[outside]) < 0.25
    assert around.body.convex == (carried_by != "frame")


def test_a_rear_wheel_swings_about_its_pivot() -> None:
    """The axle runs on the circle about the pivot: 1,001 poses; straight sweeps and arcs of a wheel are exact."""
    job = job_of("frame", "rear")
    around, arm = envelope(job), swingarm(job)
    assert arm is not None and arm.length_mm == pytest.approx(np.hypot(540.0, 45.0))
    points = np.random.default_rng(7).uniform([-200, -450, -100], [200, 450, 600], (400, 3))
    least = np.full(len(points), np.inf)
    for rise in np.linspace(-35.0, 70.0, 1001):
        along = np.sqrt(arm.length_mm**2 - (45.0 - rise) ** 2)  # the axle keeps its way to the pivot
        least = np.minimum(least, around.wheel.distance(points - [0.0, along - 540.0, rise]))
    outside = least > 0.0
    assert np.abs(least - around.body.distance(points))[outside].max() < 0.06
    assert_allclose(np.degrees(np.arcsin((70.0 - 45.0) / arm.length_mm) + np.arcsin(45.0 / arm.length_mm)), arm.turn_deg(70.0))


def test_trail_is_that_of_the_textbook() -> None:
    """(R sin e - o) / cos e: R 300, e 25, o 35 gives 101.3; R 320, e 27, o 30 gives 129.4 mm. From the axis itself: where it meets
    the ground, R under the axle, that far ahead of the tire's contact."""
    for radius, rake, offset, trail in ((300.0, 25.0, 35.0, 101.3), (320.0, 27.0, 30.0, 129.4)):
        axis = steering_axis(job_of(travel={"fork_rake": rake, "fork_offset": offset}))
        assert axis.trail_mm(radius) == pytest.approx(trail, abs=0.05)
        steps = (-radius - axis.point[2]) / axis.direction[2]
        assert -(axis.point + steps * axis.direction)[1] == pytest.approx(trail, abs=0.05)


def test_a_head_point_gives_the_offset() -> None:
    by_offset = steering_axis(job_of())
    on_axis = by_offset.point + 700.0 * by_offset.direction
    head = [float(-on_axis[1]), float(on_axis[2])]
    by_head = steering_axis(job_of(travel={**{k: v for k, v in FORK.items() if k != "fork_offset"}, "head": head}))
    assert isinstance(by_head, SteeringAxis) and by_head.offset_mm == pytest.approx(35.0)
    assert_allclose(by_head.point, by_offset.point, atol=1e-9)


def test_the_bars_turn_left_to_the_left() -> None:
    """A fender on the frame sees the front of the wheel go to the rider's left, +x, at positive steering."""
    place = motion_of(job_of("frame"), "wheel").placement(Pose(0.0, 30.0)) @ [0.0, -300.0, 0.0, 1.0]
    assert place[0] > 100.0
    up = motion_of(job_of("steering"), "wheel").placement(Pose(60.0, 30.0)) @ [0.0, 0.0, 0.0, 1.0]
    assert_allclose(up[:3], 60.0 * np.array([0.0, np.sin(np.radians(25.0)), np.cos(np.radians(25.0))]))
    bar = motion_of(job_of("axle"), "chassis").placement(Pose(60.0, 0.0)) @ [0.0, 0.0, 0.0, 1.0]
    assert_allclose(bar[:3], -up[:3])


@pytest.mark.parametrize(("carried_by", "position"), [("steering", "front"), ("frame", "front"), ("frame", "rear")])
def test_the_pose_of_the_least_clearance_is_where_it_is_least(carried_by: str, position: str) -> None:
    """At that pose the distance to the wheel is that to its sweep, to within the sweep's bound."""
    job = job_of(carried_by, position)
    limit, around = clearance_field(job, "part").limits[0], envelope(job)
    for point in np.array([[0.0, 20.0, 400.0], [70.0, -160.0, 380.0], [-60.0, 200.0, 350.0]]):
        pose = limit_pose(point, limit)
        assert pose is not None
        seen = (np.linalg.inv(around.motion.placement(pose)) @ [*point, 1.0])[:3]
        at_pose = float(around.wheel.distance(seen[None])[0])
        swept = float(around.body.distance(point[None])[0])
        if swept > 0.0:
            assert swept - 1e-6 <= at_pose <= swept + 0.25
    assert limit_pose(np.zeros(3), clearance_field(job_of(), "part").limits[0]) is None
    assert pose_words(Pose(60.0, -27.6)) == "travel +60 mm, bars 28 deg right"


def without(travel: dict[str, Any], *keys: str) -> dict[str, Any]:
    return {key: value for key, value in travel.items() if key not in keys}


@pytest.mark.parametrize(
    ("carried_by", "position", "travel", "key", "words"),
    [
        ("steering", "rear", ARM, "mount.carried_by", 'allowed are "axle" and "frame"'),
        ("frame", "front", without(FORK, "bump"), "travel.bump", "is missing"),
        ("frame", "front", without(FORK, "rebound"), "travel.rebound", "is missing"),
        ("frame", "front", without(FORK, "lock"), "travel.lock", "on the frame the wheel moves"),
        ("frame", "front", without(FORK, "fork_offset"), "travel.fork_offset", "or travel.head"),
        ("steering", "front", without(FORK, "fork_rake"), "travel.fork_rake", "lower triple clamp"),
        ("frame", "rear", without(ARM, "pivot"), "travel.pivot", "or travel.swingarm"),
        ("frame", "rear", {**ARM, "pivot": [20.0, 10.0]}, "travel.pivot", "at least 100 mm from the axle"),
        ("frame", "rear", {**ARM, "pivot": [0.0, 300.0]}, "travel.pivot", "farther ahead"),
        ("frame", "rear", {**ARM, "swingarm": 500.0}, "travel.swingarm", "state one of them"),
        ("axle", "front", {**FORK, "head": [0.0, 600.0]}, "travel.fork_offset", "state one of them"),
        ("frame", "rear", {**ARM, "pivot": [150.0, 0.0], "bump": 160.0}, "travel.bump", "allowed is less than 150"),
    ],
)
def test_what_is_missing_or_impossible_is_named(
    carried_by: str, position: str, travel: dict[str, Any], key: str, words: str
) -> None:
    with pytest.raises(JobError, match=".") as refused:
        check_motion(job_of(carried_by, position, travel))
    assert refused.value.key == key and words in str(refused.value)


def test_lock_over_sixty_degrees_is_refused() -> None:
    with pytest.raises(JobError, match="from 0 to 60 degrees"):
        job_of("frame", travel={**FORK, "lock": [61.0, 30.0]})


def test_travel_longer_than_the_room_says_what_goes() -> None:
    """On the frame the wheel comes up into the fender: of the room under the mount the travel takes its rise."""
    check_room(job_of("steering", travel={**FORK, "bump": 40.0}))
    with pytest.raises(JobError, match=r"allowed is about \d+ mm under this mount") as refused:
        check_room(job_of("steering", travel={**FORK, "bump": 120.0}))
    assert refused.value.key == "travel.bump"
    allowed = float(str(refused.value).split("allowed is about ")[1].split()[0])
    check_room(job_of("steering", travel={**FORK, "bump": allowed}))


def test_unknown_travel_is_a_caution_that_names_the_part() -> None:
    box = {"name": "radiator", "kind": "box", "center": [0, 260, 420], "size": [200, 40, 150], "moves_with": "chassis"}
    (said,) = motion_cautions(job_of(travel={}, keepout=[box]))
    assert '"radiator" moves against the fender' in said
    for key in ("travel.bump", "travel.rebound", "travel.fork_rake", "travel.lock"):
        assert key in said
    assert motion_cautions(job_of(keepout=[box])) == ()
    assert motion_cautions(job_of(travel={}, keepout=[{**box, "moves_with": "wheel"}])) == ()
