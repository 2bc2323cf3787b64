# SPDX-License-Identifier: GPL-3.0-or-later
"""The shaper as a host drives it: requests mouse step after mouse step, echoes of what it wrote, undo."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from addon.core.base.arrays import Array
from addon.core.base.tolerances import TOLERANCES
from addon.core.clearance.clearance_field import ClearanceField, clearance_field
from addon.core.job.job_sheet import Job, parse_job
from addon.core.seat.mount import mount_frame
from addon.core.shaping.point_freedom import SeatRows
from addon.core.shaping.seed import Seed, seed_cage
from addon.core.shaping.shaper import LEASH, Hold, Shaped, Shaper
from addon.core.skin.cage import Cage, topology_of_faces

STEP_MM = 3.0


@pytest.fixture(scope="module")
def job() -> Job:
    return parse_job(
        {
            "tire": {"size": "120/70-17", "measured_radius": 300.0, "sigma": 0.5},
            "mount": {"height": 45.0, "bolts": [[0, 25], [0, -25]], "thread": "M6"},
            "clearance": {"gap": 10.0, "flex": 2.0},
            "wall": {"thickness": 3.0},
            "cage": {"front": 40.0, "rear": -50.0, "half_width": 72.0, "side_drop": 30.0, "level": 3},
        }
    )


@pytest.fixture(scope="module")
def seed(job: Job) -> Seed:
    return seed_cage(job)


@pytest.fixture(scope="module")
def field(job: Job) -> ClearanceField:
    return clearance_field(job)


def host_points(points: Array) -> Array:
    """As a host holds them."""
    return np.asarray(points.astype(np.float32).astype(np.float64))


def front_points(cage: Cage) -> Array:
    """Indices of the points of the front end."""
    return np.flatnonzero(cage.points[:, 1] < cage.points[:, 1].min() + 60.0)


class Dragged:
    """A drag: each request is the start moved, whatever was written in between."""

    def __init__(self, shaper: Shaper, cage: Cage, field: ClearanceField) -> None:
        self.shaper, self.field = shaper, field
        self.start = Cage(cage.topology, host_points(cage.points))
        self.last = shaper.step(self.start, field)

    def to(self, points: Array) -> Shaped:
        self.last = self.shaper.step(Cage(self.start.topology, host_points(points)), self.field, budget_s=10.0)
        return self.last

    def settled(self) -> Shaped:
        """What the host's updates after our own writes lead to."""
        for _ in range(60):
            before = self.last.cage.points
            self.last = self.shaper.step(self.last.cage, self.field, budget_s=10.0)
            if np.array_equal(before, self.last.cage.points):
                break
        return self.last


def test_a_drag_through_the_tire_stays_clear_and_does_not_pop(seed: Seed, field: ClearanceField) -> None:
    drag = Dragged(Shaper(3), seed.cage, field)
    moved = front_points(seed.cage)
    skin = drag.last.skin
    for step in range(1, 121):
        points = drag.start.points.copy()
        points[moved, 2] -= step * STEP_MM
        shaped = drag.to(points)
        assert shaped.worst.excess_mm >= -TOLERANCES.clear
        assert np.linalg.norm(shaped.skin - skin, axis=1).max() <= LEASH * STEP_MM + 1e-3
        skin = shaped.skin
        still = np.setdiff1d(np.arange(len(points)), moved)
        assert_array_equal(shaped.cage.points[still], drag.start.points[still])


def test_coming_back_ends_exactly_where_the_mouse_is(seed: Seed, field: ClearanceField) -> None:
    drag = Dragged(Shaper(3), seed.cage, field)
    moved = front_points(seed.cage)
    for depth in [*range(0, 60, 3), *range(60, -1, -3)]:
        points = drag.start.points.copy()
        points[moved, 2] -= depth
        drag.to(points)
    assert_array_equal(drag.settled().cage.points, drag.start.points)


def test_hundred_drags_leave_the_other_points_alone(seed: Seed, field: ClearanceField) -> None:
    shaper = Shaper(3)
    drag = Dragged(shaper, seed.cage, field)
    moved = front_points(seed.cage)
    rng = np.random.default_rng(7)
    here = drag.start.points
    for _ in range(100):
        points = here.copy()
        points[moved] += rng.normal(0.0, 25.0, 3) * [0.0, 1.0, 1.0]
        here = drag.to(points).cage.points
        assert drag.last.clear
    still = np.setdiff1d(np.arange(len(here)), moved)
    assert_array_equal(here[still], drag.start.points[still])


def test_undo_and_redo_bring_back_what_was_shown(seed: Seed, field: ClearanceField) -> None:
    shaper = Shaper(3)
    drag = Dragged(shaper, seed.cage, field)
    moved = front_points(seed.cage)
    asked = drag.start.points.copy()
    asked[moved, 2] -= 45.0
    drag.to(asked)
    shown = drag.settled().cage.points
    assert drag.last.moved_back or (shown != host_points(asked)).any()
    shaper.recall()  # undo
    assert_array_equal(drag.to(drag.start.points).cage.points, drag.start.points)
    shaper.recall()  # redo: the host gives back what was asked, deep in the tire
    assert_array_equal(drag.to(asked).cage.points, shown)


def test_the_center_line_and_the_half_stay_where_they_belong(seed: Seed, field: ClearanceField) -> None:
    drag = Dragged(Shaper(3), seed.cage, field)
    points = drag.start.points.copy()
    points[:, 0] -= 20.0
    on_plane = seed.cage.topology.on_plane
    # a host names as lying on the plane what it finds there
    asked = Cage(replace(seed.cage.topology, on_plane=np.abs(points[:, 0]) < 1e-4), host_points(points))
    shaped = drag.shaper.step(asked, field)
    assert_array_equal(shaped.cage.topology.on_plane, on_plane)
    assert_array_equal(shaped.cage.points[on_plane, 0], 0.0)
    assert (shaped.cage.points[~on_plane, 0] > 0.0).all()
    assert shaped.clear


def test_warning_only_shows_and_leaves_alone(seed: Seed, field: ClearanceField) -> None:
    drag = Dragged(Shaper(3), seed.cage, field)
    points = drag.start.points.copy()
    points[front_points(seed.cage), 2] -= 45.0
    asked = Cage(seed.cage.topology, host_points(points))
    warned = drag.shaper.step(asked, field, Hold.WARN)
    assert not warned.clear and not warned.moved_back
    assert_array_equal(warned.cage.points, asked.points)
    assert warned.worst.name == "tire"
    held = drag.shaper.step(asked, field, Hold.HOLD)
    assert held.clear and held.moved_back


def test_a_larger_tire_moves_the_cage_out_at_the_next_step(seed: Seed, job: Job) -> None:
    shaper = Shaper(3)
    drag = Dragged(shaper, seed.cage, clearance_field(job))
    larger = clearance_field(replace(job, clearance=replace(job.clearance, gap=job.clearance.gap + 12.0)))
    assert larger.excess(drag.last.skin).min() < 0.0
    shaped = shaper.step(drag.last.cage, larger)
    assert shaped.clear and shaped.moved_back


def test_points_that_are_clipped_to_the_plane_do_not_tear_the_skin(seed: Seed, field: ClearanceField) -> None:
    drag = Dragged(Shaper(3), seed.cage, field)
    columns = int(np.argmax(seed.cage.topology.on_plane[1:])) + 1
    beside = np.arange(1, len(drag.start.points), columns)[:2]  # two neighbors of the center line, as a scale to zero leaves them
    points = drag.start.points.copy()
    points[beside, 0] = 0.0
    clipped = seed.cage.topology.on_plane.copy()
    clipped[beside] = True
    shaped = drag.shaper.step(Cage(replace(seed.cage.topology, on_plane=clipped), host_points(points)), field)
    assert_array_equal(shaped.cage.topology.on_plane, seed.cage.topology.on_plane)
    assert (shaped.cage.points[beside, 0] > 0.0).all()
    assert shaped.clear


def test_what_is_extruded_into_the_tire_in_one_step_moves_only_what_is_new(seed: Seed, field: ClearanceField) -> None:
    shaper = Shaper(3)
    drag = Dragged(shaper, seed.cage, field)
    old = drag.last.cage
    columns = int(np.argmax(old.topology.on_plane[1:])) + 1
    front = np.arange(len(old.points) - columns, len(old.points))
    new = len(old.points) + np.arange(columns)
    faces = [old.topology.corners[a:b].tolist() for a, b in pairwise(old.topology.face_starts.tolist())]
    faces += [[front[i], new[i], new[i + 1], front[i + 1]] for i in range(columns - 1)]
    points = host_points(np.vstack([old.points, old.points[front] + [0.0, 20.0, -120.0]]))
    topology = topology_of_faces(len(points), faces, on_plane=np.append(old.topology.on_plane, old.topology.on_plane[front]))
    shaped = shaper.step(Cage(topology, points), field)
    assert shaped.clear and shaped.moved_back
    assert_array_equal(shaped.cage.points[: len(old.points)], old.points)


@pytest.mark.filterwarnings("error")
def test_moving_a_point_that_hangs_on_no_face_is_no_trouble(seed: Seed, field: ClearanceField) -> None:
    old = seed.cage.topology
    faces = [old.corners[a:b].tolist() for a, b in pairwise(old.face_starts.tolist())]
    points = host_points(np.vstack([seed.cage.points, [[10.0, 0.0, 500.0]]]))
    topology = topology_of_faces(len(points), faces, on_plane=np.append(old.on_plane, False))
    shaper = Shaper(3)
    before = shaper.step(Cage(topology, points), field)
    points[-1] += [0.0, 5.0, 5.0]
    after = shaper.step(Cage(topology, points), field)
    assert after.clear
    assert_array_equal(after.skin, before.skin)
    assert_array_equal(after.cage.points[-1], points[-1])


def test_drags_with_little_time_neither_break_nor_pop(seed: Seed, job: Job, field: ClearanceField) -> None:
    """Random drags, steps cut short by their budget, and the host's own updates between them."""
    rng = np.random.default_rng(0)
    stride = 6.25
    seat = SeatRows(seed.seat, mount_frame(job).up)
    start = Cage(seed.cage.topology, host_points(seed.cage.points))
    for _ in range(12):
        shaper = Shaper(4)
        skin = shaper.step(start, field).skin
        center = start.points[rng.integers(len(start.points))]
        moved = np.linalg.norm(start.points - center, axis=1) < rng.uniform(40.0, 110.0)
        way = (rng.normal(0.0, 0.3, 3) + [0.0, 0.0, -1.0]) * [0.0, 1.0, 1.0]
        way *= stride / np.linalg.norm(way)
        for step in range(1, 41):
            budget = rng.choice([0.0005, 0.003, 0.012])
            points = host_points(start.points + step * moved[:, None] * way)
            shaped = shaper.step(Cage(start.topology, points), field, seat=seat, budget_s=budget)
            assert shaped.clear
            for _ in range(rng.integers(0, 3)):
                shaped = shaper.step(shaped.cage, field, seat=seat, budget_s=budget)
                assert shaped.clear
            assert np.linalg.norm(shaped.skin - skin, axis=1).max() <= LEASH * stride + 0.01
            skin = shaped.skin
            assert_array_equal(shaped.cage.points[~moved], start.points[~moved])


def test_making_up_for_a_short_step_comes_to_an_end_at_what_a_long_one_gives(seed: Seed, field: ClearanceField) -> None:
    moved = front_points(seed.cage)
    start = Cage(seed.cage.topology, host_points(seed.cage.points))
    for depth in (20.0, 60.0, 200.0):
        points = start.points.copy()
        points[moved, 2] -= depth
        shaper = Shaper(3)
        shaper.step(start, field)
        shaped = shaper.step(Cage(start.topology, host_points(points)), field, budget_s=10.0)
        first, steps = shaped, 0
        while not shaped.settled:
            assert steps < 40
            shaped, steps = shaper.step(shaped.cage, field, budget_s=10.0), steps + 1
            assert shaped.clear
        left, left_at_first = (np.linalg.norm(step.cage.points - points) for step in (shaped, first))
        assert left <= left_at_first
        for _ in range(3):  # and then it stays
            assert_array_equal(shaper.step(shaped.cage, field, budget_s=10.0).cage.points, shaped.cage.points)


def test_undo_of_a_larger_gap_lets_the_cage_back(seed: Seed, job: Job, field: ClearanceField) -> None:
    shaper = Shaper(3)
    drag = Dragged(shaper, seed.cage, field)
    larger = clearance_field(replace(job, clearance=replace(job.clearance, gap=job.clearance.gap + 12.0)))
    raised = shaper.step(drag.last.cage, larger, budget_s=10.0)
    assert raised.moved_back
    shaper.recall()
    drag.last = shaper.step(drag.start, clearance_field(job), budget_s=10.0)
    assert_array_equal(drag.settled().cage.points, drag.start.points)
