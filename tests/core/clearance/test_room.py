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
from addon.core.clearance.room import check_room, room
from addon.core.job.job_sheet import Job, parse_job
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
    assert room(job).available_mm == pytest.approx(50 - 3 - budget(job).envelope_mm, abs=1e-6)
    over = job_of(50, side="over")
    assert room(over).available_mm == pytest.approx(50 - budget(over).envelope_mm, abs=1e-6)


@pytest.mark.parametrize(("tilt", "ahead"), [(0.0, 0.0), (9.0, 0.0), (-14.0, 60.0), (20.0, -100.0), (0.0, 45.0)])
@pytest.mark.parametrize("side", ["under", "over"])
def test_tilted_mount_against_brute_force(tilt: float, ahead: float, side: str) -> None:
    job = job_of(60, tilt=tilt, ahead=ahead, side=side)
    found = room(job)
    assert found.available_mm == pytest.approx(brute_force(job, 0.0 if side == "over" else -3.0), abs=0.01)
    frame = mount_frame(job)
    uv, height = frame.to_plane(found.point[None])
    assert frame.outline_distance(uv)[0] <= 1e-6
    assert height[0] == pytest.approx(0.0 if side == "over" else -3.0)


def test_tilt_eats_room_at_the_edge_of_the_seat() -> None:
    assert room(job_of(60, tilt=15)).available_mm < room(job_of(60)).available_mm - 2.0


def test_axle_slot_eats_room_ahead_or_behind() -> None:
    """A mount behind the axle comes nearer when the axle moves rearward, and farther when it is forward only."""
    behind = {"ahead": -150.0, "tilt": 26.0}
    still = room(job_of(70, **behind)).available_mm
    assert room(job_of(70, slot=30, **behind)).available_mm < still - 10.0
    assert room(job_of(70, slot=[30, 0], **behind)).available_mm == pytest.approx(still, abs=1e-6)


def test_missing_room_says_how_much_and_what_eats_it() -> None:
    job = job_of(25)
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
    check_room(job_of(needed + 0.001))
    with pytest.raises(JobError):
        check_room(job_of(needed - 0.001))
