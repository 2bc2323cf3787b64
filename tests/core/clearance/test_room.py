# SPDX-License-Identifier: GPL-3.0-or-later
"""The room under the seat against closed forms and brute force."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from addon.core.base.arrays import Array
from addon.core.base.errors import JobError
from addon.core.clearance.budget import budget
from addon.core.clearance.room import check_room, hardware_rooms, room, seat_room
from addon.core.job.job_sheet import Job, job_to_dict, parse_job
from addon.core.seat.mount import mount_frame
from addon.core.tire.tire_profile import tire_profile


def job_of(height: float = 50.0, slot: Any = 0, **mount: Any) -> Job:
    return parse_job(
        {
            "wheel": {"top_speed_kmh": 200},
            "tire": {"size": "120/70 ZR17", "measured_radius": 300, "sigma": 0.5},
            "mount": {
                "height": height,
                "bolts": [[25, 30], [-25, 30], [25, -30], [-25, -30]],
                "thread": "M6",
                "pad": 15,
                **mount,
            },
            "clearance": {"gap": 8, "runout_radial": 1, "runout_lateral": 1, "flex": 2},
            "travel": {"axle_slot": slot},
            "wall": {"thickness": 3},
        }
    )


def meridian_distance(profile: Array, points: Array) -> Array:
    """Distance of outside points from the body of revolution, segment by segment: slow, exact, written for this test."""
    place = np.column_stack([np.abs(points[:, 0]), np.hypot(points[:, 1], points[:, 2])])
    corners = np.concatenate([profile, [[profile[-1, 0], 0.0]]])
    best = np.full(len(points), np.inf)
    for a, b in pairwise(corners):
        along = np.clip((place - a) @ (b - a) / ((b - a) @ (b - a)), 0.0, 1.0)
        best = np.minimum(best, np.linalg.norm(place - a - along[:, None] * (b - a), axis=1))
    return best


def brute_force(job: Job, above: float) -> float:
    frame = mount_frame(job)
    outline = frame.outline(2000)
    low, high = outline.min(axis=0), outline.max(axis=0)
    u, v = np.meshgrid(np.linspace(low[0], high[0], 201), np.linspace(low[1], high[1], 401))
    uv = np.column_stack([u.ravel(), v.ravel()])
    uv = np.concatenate([uv[frame.outline_distance(uv) <= 0], outline])
    return float(meridian_distance(tire_profile(job).largest, frame.to_axes(uv, above)).min())


def test_level_mount_by_hand() -> None:
    """Over the crown the inner face is height - wall above 300; the envelope's crown there is 300 + growth and run-out."""
    job = job_of(50)
    assert seat_room(job).available_mm == pytest.approx(50 - 3 - budget(job).envelope_mm, abs=1e-6)
    over = job_of(50, side="over")
    assert seat_room(over).available_mm == pytest.approx(50 - budget(over).envelope_mm, abs=1e-6)


@pytest.mark.parametrize(("tilt", "ahead"), [(0.0, 0.0), (9.0, 0.0), (-14.0, 60.0), (20.0, -100.0), (0.0, 45.0)])
@pytest.mark.parametrize("side", ["under", "over"])
def test_tilted_mount_against_brute_force(tilt: float, ahead: float, side: str) -> None:
    job = job_of(60, tilt=tilt, ahead=ahead, side=side)
    found = seat_room(job)
    assert found.available_mm == pytest.approx(brute_force(job, 0.0 if side == "over" else -3.0), abs=0.01)
    frame = mount_frame(job)
    uv, height = frame.to_plane(found.point[None])
    assert frame.outline_distance(uv)[0] <= 1e-6
    assert height[0] == pytest.approx(0.0 if side == "over" else -3.0)


def test_tilt_eats_room_at_the_edge_of_the_seat() -> None:
    assert seat_room(job_of(60, tilt=15)).available_mm < seat_room(job_of(60)).available_mm - 2.0


def test_axle_slot_eats_room_ahead_or_behind() -> None:
    """A mount behind the axle comes nearer when the axle moves rearward, and farther when it is forward only."""
    behind = {"ahead": -150.0, "tilt": 26.0}
    still = room(job_of(70, **behind)).available_mm
    assert room(job_of(70, slot=30, **behind)).available_mm < still - 10.0
    assert room(job_of(70, slot=[30, 0], **behind)).available_mm == pytest.approx(still, abs=1e-6)


def test_missing_room_says_how_much_and_what_eats_it() -> None:
    job = job_of(25, hardware="countersink")
    missing = budget(job).required_mm - (25 - 3 - budget(job).envelope_mm)
    with pytest.raises(JobError) as caught:
        check_room(job)
    message = str(caught.value)
    assert caught.value.key == "mount.height"
    assert f"{missing:.1f} mm are missing" in message
    for name in (
        "tire size tolerance 5.9",
        "tire growth at speed",
        "radial run-out 1.0",
        "gap 8.0",
        "fender flex 2.0",
        "wall 3.0",
    ):
        assert name in message


def test_room_is_refused_exactly_where_it_ends() -> None:
    job = job_of(50)
    needed = 3 + budget(job).envelope_mm + budget(job).required_mm
    check_room(job_of(needed + 0.001, hardware="countersink"))
    with pytest.raises(JobError):
        check_room(job_of(needed - 0.001, hardware="countersink"))


def ring_of(job: Job, depth: float, radius: float) -> Array:
    """Rims and insides of discs at the bolts, a depth under the mount plane: written for these tests."""
    frame = mount_frame(job)
    turn = np.linspace(0.0, 2.0 * np.pi, 181)
    rings = [share * radius * np.column_stack([np.cos(turn), np.sin(turn)]) for share in np.linspace(0.0, 1.0, 21)]
    return np.concatenate([frame.to_axes(bolt + ring, -depth) for bolt in frame.bolts_uv for ring in rings])


@pytest.mark.parametrize(
    ("mount", "depth", "radius"),
    [
        # wall 3, large washer 1.8 (ISO 7093), button head 3.3 high and 10.5 across (ISO 7380-1)
        ({}, 3.0 + 1.8 + 3.3, 5.25),
        ({"washer": "none"}, 3.0 + 3.3, 5.25),
        # nut 8 high (ISO 7040), two pitches of the screw's 6 mm past it; the nut's corners are 10 / cos 30 deg = 11.55 apart
        ({"heads": "outside"}, 3.0 + 1.8 + 8.0 + 2.0, 3.0),
        # a head of 6 mm (ISO 4762) that stands 1 mm out of a recess of 5
        ({"hardware": "counterbore", "recess": 5.0}, 3.0 + 1.0, 5.0),
        # over the plate of 5 mm: heads inside on plain washers of 1.6 (ISO 7089)
        ({"side": "over", "plate": [80, 90, 5]}, 5.0 + 1.6 + 3.3, 5.25),
        # nuts of heads that are stated to be outside; the screw sold is 25 for the 21.4 between, 3.6 longer
        ({"side": "over", "plate": [80, 90, 5], "heads": "outside"}, 5.0 + 1.6 + 8.0 + 2.0 + 3.6, 3.0),
    ],
)
def test_head_room_by_the_tables(mount: dict[str, Any], depth: float, radius: float) -> None:
    """The lowest disc of the stack against the body of revolution, segment by segment."""
    job = job_of(60, tilt=8, **mount)
    rooms = hardware_rooms(job)
    assert len(rooms) == 4
    expected = float(meridian_distance(tire_profile(job).largest, ring_of(job, depth, radius)).min())
    assert min(one.available_mm for one in rooms) == pytest.approx(expected, abs=0.03)
    assert {one.required_mm for one in rooms} == {budget(job).required_mm}


def test_sunk_heads_take_no_room_and_inserts_none_inside() -> None:
    for hardware in ("countersink", "counterbore", "insert"):
        assert hardware_rooms(job_of(60, hardware=hardware)) == ()


def test_heads_are_counted_through_the_axle_slot() -> None:
    """Behind the axle a slot brings the tire to the heads as it does to the seat."""
    behind = {"ahead": -150.0, "tilt": 26.0}
    still, moved = (min(one.available_mm for one in hardware_rooms(job_of(70, slot=slot, **behind))) for slot in (0, [20, 15]))
    assert moved < still - 5.0


def test_a_mount_with_too_little_room_for_its_heads_names_the_bolt() -> None:
    lowest = 3 + budget(job_of(50)).envelope_mm + budget(job_of(50)).required_mm
    job = job_of(lowest + 1.0)
    assert seat_room(job).missing_mm < 0.0
    with pytest.raises(JobError, match="from the screw head of bolt 1 to the tire") as caught:
        check_room(job)
    assert caught.value.key == "mount.height" and caught.value.place is not None
    check_room(job_of(lowest + 1.0, hardware="countersink"))


def test_extra_mounts_name_theirs() -> None:
    """A seat whose bracket lies outside of the fender, 24 mm over the largest tire: its nuts do not count, its heads do."""
    job = job_of(60)
    crown = float(tire_profile(job).largest[0, 1])
    data = job_to_dict(job) | {"seat": [{"name": "strut", "center": [0, crown + 17, 0], "normal": [0, 1, 0], "bolts": [[0, 0]]}]}
    with pytest.raises(JobError, match='from the screw head of bolt 1 of the seat "strut" to the tire') as caught:
        check_room(parse_job(data))
    assert caught.value.key == "seat[0].center"
    data["seat"] = [{**data["seat"][0], "center": [0, crown + 24, 0]}]
    check_room(parse_job(data))
