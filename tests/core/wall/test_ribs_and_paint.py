# SPDX-License-Identifier: GPL-3.0-or-later
"""Ribs and painted walls on a torus, whose distances are known in closed form, and by rays of trimesh."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.arrays import Array
from addon.core.base.errors import JobError
from addon.core.base.wheel_axes import radius_of, station_of
from addon.core.clearance.budget import budget
from addon.core.job.job_sheet import job_to_dict, parse_job
from addon.core.mesh.open_surface import Surface
from addon.core.report.check_job import check_job
from addon.core.trim.trimmed import trimmed
from addon.core.wall.closed_wall import RIB_CHORD, ClosedWall, closed_wall
from addon.core.wall.job_edges import skin_shares
from addon.core.wall.job_wall import check_ribs_on_skin, thickest, wall_shape
from addon.core.wall.rib import Rib
from addon.core.wall.skin_measures import wall_volume
from addon.core.wall.skin_wall import skin_wall
from addon.core.wall.wall_check import wall_stats
from addon.core.wall.wall_shape import WallShape
from tests.core.torus_surface import as_manifold, as_trimesh, crown_seat, torus_surface
from tests.core.trim_jobs import job_of

CROWN, SECTION, WALL = 320.0, 80.0, 3.0
RIB = Rib(front=10.0, rear=-60.0, x=12.0, width=14.0, height=3.0, radius=CROWN)
SHEET_RIB = {"name": "crown", "front": 25.0, "rear": -70.0, "x": 12.0, "width": 14.0, "height": 3.0}


def over_torus(points: Array) -> Array:
    """Signed distance from the torus of torus_sheet()."""
    return np.hypot(points[:, 0], radius_of(points) - (CROWN - SECTION)) - SECTION


def ribbed(*seats: object, sheet: Surface | None = None) -> ClosedWall:
    return closed_wall(sheet or torus_surface(), 0.0, WALL, "round", *seats, shape=WallShape(ribs=(RIB,)))  # type: ignore[arg-type]


def test_a_rib_stands_on_the_outer_face_and_leaves_the_inner_one() -> None:
    wall = ribbed()
    assert as_trimesh(wall.mesh).is_volume and as_manifold(wall.mesh).genus() == 0
    assert_allclose(over_torus(wall.inner), -WALL, atol=1e-3)
    height, station = over_torus(wall.outer), station_of(wall.outer)
    along = (station < -5.0) & (station > -50.0)
    # moved along the normal, points of a flank lie a little beside where the sheet had them
    x = wall.outer[:, 0] * SECTION / (SECTION + height)
    share = np.abs(x - RIB.x) / (0.5 * RIB.width)
    # the quintic step by hand: 1 on the back, a half at half width, 0 at the foot
    assert height[along & (share < 0.08)].min() > 2.98
    assert_allclose(height[along & (np.abs(share - 0.5) < 0.02)], 1.5, atol=0.02 * 1.875 * 3.0 + 0.01)
    assert np.abs(height[share > 1.0]).max() < 1e-3
    assert np.abs(height[(station > RIB.front) | (station < RIB.rear)]).max() < 1e-3


def test_facets_of_a_rib_are_within_the_chord() -> None:
    """Middles of facets and of their sides against the height there; on a slope of 39 degrees heights count for their cosine."""
    wall = ribbed()
    corners = wall.outer[wall.triangles]
    for middle in (corners.mean(axis=1), *(0.5 * (corners[:, i] + corners[:, i - 1]) for i in range(3))):
        height = over_torus(middle)
        foot = middle.copy()
        foot[:, 0] *= SECTION / (SECTION + height)
        asked, slope = RIB.height_and_slope(foot)
        off = np.abs(height - asked) / np.sqrt(1.0 + np.square(slope).sum(axis=1))
        assert off.max() < RIB_CHORD


def test_the_slope_is_that_of_the_height() -> None:
    """Central differences along the three axes."""
    points = torus_surface().points
    _, slope = RIB.height_and_slope(points)
    for axis in range(3):
        step = np.eye(3)[axis] * 1e-5
        found = (RIB.height_and_slope(points + step)[0] - RIB.height_and_slope(points - step)[0]) / 2e-5
        assert_allclose(slope[:, axis], found, atol=1e-5)


def test_a_rib_runs_out_before_a_seat() -> None:
    seat = crown_seat()
    wall = ribbed(seat)
    on_seat = wall.seat_weight == 1.0
    assert on_seat.sum() > 100
    assert np.abs(seat.height(wall.outer[on_seat])).max() < 1e-9
    assert wall.rib[on_seat].max() == 0.0 and wall.rib.max() > 2.9
    assert as_manifold(wall.mesh).genus() == 0


def test_higher_of_two_ribs_counts() -> None:
    low = replace(RIB, height=1.0, width=30.0)
    both = WallShape(ribs=(low, RIB)).raised(torus_surface().points)[0]
    one, other = (rib.height_and_slope(torus_surface().points)[0] for rib in (low, RIB))
    assert_allclose(both, np.maximum(one, other), atol=1e-12)


@pytest.mark.parametrize(
    ("changes", "key", "said"),
    [
        ({"front": -70.0}, "rib[0].front", "not ahead of the rear end"),
        ({"height": 8.0}, "rib[0].height", "allowed is 7 mm"),
        ({"x": 400.0}, "rib[0].x", "allowed"),
        ({"sides": "all"}, "rib[0].sides", "allowed"),
    ],
)
def test_ribs_that_cannot_be_are_refused(changes: dict[str, object], key: str, said: str) -> None:
    with pytest.raises(JobError, match=said) as caught:
        job_of(rib=[{**SHEET_RIB, **changes}])
    assert caught.value.key == key


def test_a_rib_beside_the_skin_is_named_with_its_place() -> None:
    with pytest.raises(JobError, match="beside the skin") as caught:
        check_ribs_on_skin(job_of(rib=[{**SHEET_RIB, "x": 150.0}]), torus_surface())
    assert caught.value.key == "rib[0].x" and caught.value.place is not None
    check_ribs_on_skin(job_of(rib=[SHEET_RIB]), torus_surface())


def test_both_sides_and_the_sheet() -> None:
    job = job_of(rib=[{**SHEET_RIB, "sides": "both"}])
    shape = wall_shape(job)
    assert shape is not None and [rib.x for rib in shape.ribs] == [12.0, -12.0]
    assert parse_job(job_to_dict(job)) == job
    assert wall_shape(job_of()) is None


@pytest.mark.parametrize("painted", [2.0, 5.0])
def test_a_painted_wall_is_as_thick_as_asked(painted: float) -> None:
    """Weight rises from 0 to 1 between stations -30 and -60; rays of trimesh; under the seat the wall is plain."""
    plain = torus_surface()
    sheet = Surface(plain.points, plain.normals, plain.triangles, np.clip((-30.0 - station_of(plain.points)) / 30.0, 0.0, 1.0))
    wall = closed_wall(sheet, 0.0, WALL, "round", crown_seat(), shape=WallShape(painted=painted / WALL))
    outside = as_trimesh(wall.mesh)
    assert outside.is_volume
    chosen = np.random.default_rng(6).choice(len(wall.triangles), 600, replace=False)
    starts, inward = outside.triangles_center[chosen], -outside.face_normals[chosen]
    met, rays, hits = outside.ray.intersects_id(starts, inward, multiple_hits=True, return_locations=True)
    other = met != chosen[rays]
    found = np.full(len(chosen), np.inf)
    np.minimum.at(found, rays[other], np.linalg.norm(hits - starts[rays], axis=1)[other])
    station = station_of(starts)
    assert_allclose(found[station < -61.0], painted, rtol=0.01)
    assert_allclose(found[(station > -29.0) & (np.abs(starts[:, 0]) > 70.0)], WALL, rtol=0.01)
    half = np.abs(station + 45.0) < 1.0
    assert_allclose(found[half], 0.5 * (WALL + painted), atol=abs(painted - WALL) / 30.0 + 0.03)
    assert_allclose(wall.asked[wall.seat_weight == 1.0], WALL, atol=1e-9)
    assert wall_stats(wall).off < 0.01


def test_paint_goes_along_when_the_sheet_is_cut() -> None:
    """A weight that is linear in x stays so at every new point, to the rounding of curved edges."""
    plain = torus_surface()
    sheet = Surface(plain.points, plain.normals, plain.triangles, 0.5 + plain.points[:, 0] / 400.0)
    line = {"name": "low", "view": "drop", "points": [[-80.0, 30.0], [35.0, 25.0]]}
    cut = trimmed(job_of(trim_line=[line]), sheet)
    assert len(cut.points) != len(sheet.points)
    assert_allclose(cut.painted, 0.5 + cut.points[:, 0] / 400.0, atol=2e-4)


def test_room_is_kept_for_the_thickest_wall() -> None:
    job = job_of(wall={"thickness": 3.0, "painted_thickness": 5.0, "side": "inside"})
    assert thickest(job) == 5.0 and skin_shares(job) == (0.0, 5.0)
    assert next(line.mm for line in budget(job).lines if line.name == "wall") == 5.0
    with pytest.raises(JobError, match="cannot be printed") as caught:
        check_job(job_of(wall={"thickness": 3.0, "painted_thickness": 0.5}))
    assert caught.value.key == "wall.painted_thickness"


def test_views_show_the_wall_as_it_is_asked() -> None:
    """Mass of a ramped, ribbed and painted wall: the volume of manifold3d without the rim, within 1 %."""
    job = job_of(wall={"thickness": 3.0, "rear_thickness": 1.6, "painted_thickness": 5.0, "ramp": 60.0}, rib=[SHEET_RIB])
    plain = torus_surface()
    sheet = Surface(plain.points, plain.normals, plain.triangles, np.where(station_of(plain.points) > 20.0, 1.0, 0.0))
    wall = closed_wall(sheet, 0.0, 3.0, "square", shape=wall_shape(job))
    outer, inner = skin_wall(job, sheet.points, sheet.paint)
    quads = np.column_stack([sheet.triangles, sheet.triangles[:, 2]])
    # the inner face of this torus is smaller than its skin by about wall / 2 (1 / 80 + 1 / 320)
    shrink = 1.0 - 0.5 * 2.6 * (1.0 / SECTION + 1.0 / CROWN)
    assert wall_volume(sheet.points, quads, (outer, inner)) * shrink == pytest.approx(as_manifold(wall.mesh).volume(), rel=0.01)
