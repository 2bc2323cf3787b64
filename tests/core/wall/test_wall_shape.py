# SPDX-License-Identifier: GPL-3.0-or-later
"""A wall that thins toward the tips, measured by trimesh."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.base.wheel_axes import point_at, station_of
from addon.core.job.job_sheet import job_to_dict, parse_job
from addon.core.report.check_job import check_job, check_split
from addon.core.seat.seat_offset import wall_shares
from addon.core.wall.closed_wall import closed_wall
from addon.core.wall.job_edges import job_edges
from addon.core.wall.job_wall import job_ramp, thinnest, wall_shape
from addon.core.wall.wall_check import wall_stats
from tests.core.torus_surface import as_trimesh, torus_surface
from tests.core.trim_jobs import job_of

TIPS = {"thickness": 3.0, "front_thickness": 2.4, "rear_thickness": 1.6, "ramp": 60.0}


@pytest.mark.parametrize("side", ["inside", "middle", "outside"])
def test_the_wall_is_as_thick_as_asked_everywhere(side: str) -> None:
    """Rays of trimesh from the outer face: seat 3, front tip 2.4, rear tip 1.6, and in between as asked, within 1 %."""
    job = job_of(wall={**TIPS, "side": side})
    ramp = job_ramp(job)
    assert ramp is not None
    wall = closed_wall(torus_surface(), *wall_shares(job.wall), job_edges(job), shape=wall_shape(job))
    outside = as_trimesh(wall.mesh)
    assert outside.is_volume
    chosen = np.random.default_rng(4).choice(len(wall.triangles), 900, replace=False)
    starts, inward = outside.triangles_center[chosen], -outside.face_normals[chosen]
    met, rays, hits = outside.ray.intersects_id(starts, inward, multiple_hits=True, return_locations=True)
    other = met != chosen[rays]
    found = np.full(len(chosen), np.inf)
    np.minimum.at(found, rays[other], np.linalg.norm(hits - starts[rays], axis=1)[other])
    asked = wall.asked[wall.triangles[chosen]].mean(axis=1)
    assert np.percentile(np.abs(found / asked - 1.0), 99) < 0.01
    station = station_of(starts)
    end = np.degrees(60.0 / ramp.radius) + 2.0
    assert_allclose(found[(station < ramp.behind - end)], 1.6, rtol=0.01)
    assert_allclose(found[(station > ramp.ahead + end)], 2.4, rtol=0.01)
    assert_allclose(found[(station < ramp.ahead) & (station > ramp.behind)], 3.0, rtol=0.01)
    stats = wall_stats(wall)
    assert abs(stats.min - 1.6) < 0.016 and abs(stats.max - 3.0) < 0.03 and stats.asked_min == pytest.approx(1.6)
    assert stats.off < 0.01
    assert station_of(stats.thinnest) < ramp.behind - end + 4.0


def test_ramps_by_hand() -> None:
    """Half way along a ramp of 60 mm the wall is half way between its ends; none at the seat and its blend."""
    job = job_of(wall=TIPS)
    ramp = job_ramp(job)
    assert ramp is not None and thinnest(job) == 1.6
    stations = np.array(
        [0.0, ramp.ahead, ramp.ahead + np.degrees(30.0 / ramp.radius), ramp.behind - np.degrees(30.0 / ramp.radius), -80.0]
    )
    assert_allclose(3.0 * ramp.share(point_at(np.full(5, 320.0), stations, np.zeros(5))), [3.0, 3.0, 2.7, 2.3, 1.6], atol=1e-9)
    assert job_ramp(job_of(wall={"thickness": 3.0})) is None
    assert parse_job(job_to_dict(job)) == job


@pytest.mark.parametrize(("key", "value"), [("front_thickness", 3.5), ("rear_thickness", 0.5)])
def test_tips_that_cannot_be_are_refused(key: str, value: float) -> None:
    with pytest.raises(JobError, match="to 3 mm, the wall.thickness") as caught:
        check_job(job_of(wall={"thickness": 3.0, key: value}))
    assert caught.value.key == f"wall.{key}"


def test_a_bead_must_suit_the_thin_tip() -> None:
    with pytest.raises(JobError, match="of a wall of 1.6 to 3 mm; allowed is 1.5 to 1.6 mm"):
        check_job(job_of(wall={**TIPS, "edge": "bead", "edge_size": 2.0}))


def test_a_lap_along_the_bike_must_suit_the_thin_tip() -> None:
    """Across, the lap stays in the seat's wall; along, it halves the tips' 1.2 mm, which a 0.4 mm nozzle cannot print."""
    wall = {"thickness": 3.0, "rear_thickness": 1.2}
    check_split(job_of(wall=wall, split={"plane": "across", "joint": "lap"}))
    with pytest.raises(JobError, match="nozzle"):
        check_split(job_of(wall=wall, split={"plane": "along", "joint": "lap", "lap": 10.0}))
