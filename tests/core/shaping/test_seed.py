# SPDX-License-Identifier: GPL-3.0-or-later
"""The first cage: what the sheet asked for, clear, and without waves."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.base.tolerances import TOLERANCES
from addon.core.base.wheel_axes import radius_of, station_of
from addon.core.clearance.clearance_field import clearance_field
from addon.core.job.job_sheet import Job, job_to_dict, parse_job, read_job_sheet
from addon.core.seat.mount import mount_frame
from addon.core.seat.seat_offset import seat_offset
from addon.core.shaping.seed import seed_cage
from addon.core.shaping.seed_section import seed_section, spread
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil


def job_with(**changes: dict[str, object]) -> Job:
    tables: dict[str, dict[str, object]] = {
        "tire": {"size": "120/70-17", "measured_radius": 300.0, "sigma": 0.5},
        "mount": {"height": 45.0, "bolts": [[20, 25], [20, -25], [-20, 25], [-20, -25]], "thread": "M6", "blend": 14.0},
        "clearance": {"gap": 10.0, "flex": 2.0, "runout_radial": 1.0, "runout_lateral": 1.0},
        "wall": {"thickness": 3.0},
        "cage": {"front": 40.0, "rear": -50.0, "half_width": 74.0, "side_drop": 30.0, "level": 3},
    }
    for name, table in changes.items():
        tables[name] = {**tables.get(name, {}), **table}
    return parse_job(tables)


JOBS = {
    "plain": {},
    "tilted behind the crown": {"mount": {"ahead": -25.0, "tilt": 6.0}},
    "tilted ahead": {"mount": {"ahead": 60.0, "tilt": -10.0}},
    "over the plate": {"mount": {"side": "over", "plate": [60, 70, 5]}},
    "under the plate": {"mount": {"plate": [60, 70, 5]}},
    "wall outside": {"wall": {"side": "outside"}},
    "low rise": {"cage": {"rise": 4.0}},
    "fine": {"cage": {"stations": 15, "columns": 6}},
    "coarse": {"cage": {"stations": 4, "columns": 3}},
    "long": {"cage": {"front": 60.0, "rear": -110.0, "stations": 11}},
    "axle slot": {"travel": {"axle_slot": 30}},
}


@pytest.fixture(params=list(JOBS), scope="module")
def job(request: pytest.FixtureRequest) -> Job:
    return job_with(**JOBS[request.param])


def test_the_skin_is_clear_and_has_the_size_that_was_asked_for(job: Job) -> None:
    field = clearance_field(job)
    cage = seed_cage(job, field).cage
    whole = full_skin(skin(cage, skin_stencil(cage.topology, 4)))
    assert field.excess(whole.points).min() >= -TOLERANCES.clear
    assert cage.topology.point_count == job.cage.stations * job.cage.columns
    assert_allclose([whole.points[:, 0].min(), whole.points[:, 0].max()], [-job.cage.half_width, job.cage.half_width], atol=6.0)
    ends = station_of(whole.points)
    assert_allclose([ends.min(), ends.max()], [job.cage.rear, job.cage.front], atol=3.0)


def test_the_skin_under_the_pad_is_near_the_seat(job: Job) -> None:
    seed = seed_cage(job)
    frame = mount_frame(job)
    whole = full_skin(skin(seed.cage, skin_stencil(seed.cage.topology, 4)))
    uv, height = frame.to_plane(whole.points)
    under = (frame.outline_distance(uv) < 0.0) & (np.abs(height) < 20.0)
    off = np.abs(height[under] - seat_offset(job)).max()
    assert off <= 0.5 * job.mount.blend, "more than the blend of the solid can take up"
    assert_allclose(off, seed.seat_max_mm, atol=0.5)


def test_sections_away_from_the_seat_do_not_wave() -> None:
    cage = seed_cage(job_with(cage={"front": 60.0, "rear": -110.0, "stations": 11})).cage
    half = skin(cage, skin_stencil(cage.topology, 4))
    rear = np.unique(half.boundary_edges)
    rear = rear[station_of(half.points[rear]) < -109.0]
    rear = rear[np.argsort(half.points[rear, 0])]
    drop = radius_of(half.points[rear])
    assert len(rear) > 20
    assert (np.diff(drop) < 1e-6).all(), "a section falls from the crown to the edge all the way"


def test_the_height_over_the_tire_is_the_rise() -> None:
    job = job_with(cage={"rise": 6.0, "front": 60.0, "rear": -110.0, "stations": 15})
    field = clearance_field(job)
    cage = seed_cage(job, field).cage
    half = skin(cage, skin_stencil(cage.topology, 4))
    crown = half.on_plane & (station_of(half.points) < -60.0)
    assert_allclose(field.excess(half.points[crown]), 6.0, atol=1.0)


def test_a_fender_that_is_too_narrow_for_its_drop_is_refused() -> None:
    with pytest.raises(JobError, match=r"cage.half_width: 62 mm puts the side edge, 60 mm below the crown, .* give at least"):
        seed_cage(job_with(cage={"half_width": 62.0, "side_drop": 60.0, "rise": 3.0}))


def test_the_width_that_is_advised_is_enough_at_once() -> None:
    for width, drop in ((62.0, 60.0), (55.4, 40.0), (66.0, 25.0)):
        with pytest.raises(JobError, match="cage.half_width") as refused:
            seed_cage(job_with(cage={"half_width": width, "side_drop": drop, "rise": 3.0}))
        advised = float(str(refused.value).split("give at least ")[1].split(" mm")[0])
        with pytest.raises(JobError, match="cage.half_width"):
            seed_cage(job_with(cage={"half_width": advised - 1.0, "side_drop": drop, "rise": 3.0}))
        assert seed_cage(job_with(cage={"half_width": advised, "side_drop": drop, "rise": 3.0})).cage.topology.point_count


def test_spread_keeps_wanted_places_and_halves_the_widest_gaps() -> None:
    assert_allclose(spread(0.0, 1.0, [0.6], 4), [0.0, 0.3, 0.6, 1.0])
    assert_allclose(spread(0.0, 1.0, [0.999, -3.0], 3), [0.0, 0.5, 1.0])


def test_a_section_starts_as_a_circular_arc() -> None:
    # chord height 20 over half a width of 60: radius (60^2 + 20^2) / 40 = 100, closed form
    section = seed_section(60.0, 20.0, 30, (0.0, 1.0), lambda _: 0.0)
    x, drop = section.skin.T
    assert_allclose(np.hypot(x, 100.0 - drop), 100.0, atol=0.5)
    assert_allclose(section.skin[[0, -1]], [[0.0, 0.0], [60.0, 20.0]], atol=1e-9)


def test_a_cage_of_too_few_points_is_refused_before_it_is_thrown_about() -> None:
    """Four stations and two columns over this wheel came out 0.9 m away, clear but no fender; one more of each makes one."""
    data = job_to_dict(read_job_sheet(Path(__file__).resolve().parents[3] / "blend_demo" / "front_17.toml")) | {"keepout": []}
    data["cage"] |= {"stations": 4, "columns": 2}
    with pytest.raises(JobError, match="with 4 stations and 2 columns comes .* mm too near to the .*; give it more of them"):
        seed_cage(parse_job(data))
    data["cage"] |= {"stations": 5, "columns": 3}
    points = seed_cage(parse_job(data)).cage.points
    assert np.abs(np.hypot(points[:, 1], points[:, 2]) - 330.0).max() < 60.0
