# SPDX-License-Identifier: GPL-3.0-or-later
"""Coverage and spray against closed forms of a fender that is an arc about the axle."""

import numpy as np
import pytest

from addon.core.base.wheel_axes import point_at
from addon.core.coverage.covered_share import ABOVE, BEHIND, FRONT, covered_share
from addon.core.coverage.spray import SprayTarget, free_station, spray_hits, spray_stations, tangent_line
from addon.core.coverage.tips import fender_tips
from addon.core.mesh.triangle_mesh import TriangleMesh, outward

TIRE, INNER, OUTER, FRONT_DEG, REAR_DEG = 300.0, 320.0, 323.0, 30.0, -70.0
HALF = 60.0
PROFILE = np.array([[0.0, TIRE], [50.0, TIRE]])


def _arc(half: float = HALF, rear: float = REAR_DEG, front: float = FRONT_DEG, steps: int = 400) -> TriangleMesh:
    """A closed band about the axle."""
    station = np.linspace(rear, front, steps + 1)
    ring = [(INNER, -half), (INNER, half), (OUTER, half), (OUTER, -half)]
    points = np.stack([point_at(rho, station, x) for rho, x in ring], axis=1).reshape(-1, 3)
    i = 4 * np.arange(steps)[:, None] + np.arange(4)
    j = 4 * np.arange(steps)[:, None] + (np.arange(4) + 1) % 4
    sides = np.concatenate([np.stack([i, j, j + 4], axis=-1), np.stack([i, j + 4, i + 4], axis=-1)]).reshape(-1, 3)
    last = 4 * steps
    ends = [[0, 2, 1], [0, 3, 2], [last, last + 1, last + 2], [last, last + 2, last + 3]]
    mesh = outward(TriangleMesh(points, np.concatenate([sides, ends])))
    assert mesh.is_closed
    return mesh


def test_share_from_above_behind_and_in_front_of_a_wide_band() -> None:
    """A rectangle of the tire, 2 R high; the band hides what lies between its ends, as seen from there."""
    band = _arc()
    sine, cosine = (np.sin(np.radians(REAR_DEG)), np.cos(np.radians(REAR_DEG)))
    assert covered_share(band, PROFILE, ABOVE) == pytest.approx(
        (min(-INNER * sine, TIRE) + OUTER * np.sin(np.radians(FRONT_DEG))) / (2 * TIRE), abs=1.5e-3
    )
    assert covered_share(band, PROFILE, BEHIND) == pytest.approx((TIRE - INNER * cosine) / (2 * TIRE), abs=1e-3)
    assert covered_share(band, PROFILE, FRONT) == pytest.approx(
        (TIRE - INNER * np.cos(np.radians(FRONT_DEG))) / (2 * TIRE), abs=1e-3
    )


def test_narrow_band_hides_its_width() -> None:
    assert covered_share(_arc(25.0), PROFILE, BEHIND) == pytest.approx(0.5 * covered_share(_arc(), PROFILE, BEHIND), rel=1e-6)


def test_what_is_on_the_far_side_of_the_axle_hides_nothing() -> None:
    assert covered_share(_arc(rear=5.0, front=80.0), PROFILE, BEHIND) < 1e-6


def test_view_along_the_axle_and_an_open_mesh_are_refused() -> None:
    with pytest.raises(ValueError, match="square to the axle"):
        covered_share(_arc(), PROFILE, np.array([1.0, 0.0, 0.0]))
    band = _arc()
    with pytest.raises(ValueError, match="closed"):
        covered_share(TriangleMesh(band.vertices, band.triangles[1:]), PROFILE, ABOVE)


def test_tips_of_a_band() -> None:
    tips = fender_tips(_arc(), 290.0)
    assert (tips.front_deg, tips.rear_deg) == (pytest.approx(FRONT_DEG), pytest.approx(REAR_DEG))
    low = np.cos(np.radians(REAR_DEG))
    assert INNER * low + 290.0 - 1e-6 <= tips.rear_height <= OUTER * low + 290.0 + 1e-6
    assert tips.lowest_height == pytest.approx(290.0 + INNER * low)
    assert np.hypot(*tips.rear_point) == pytest.approx(INNER, abs=3.1)
    with pytest.raises(ValueError, match="center plane"):
        fender_tips(TriangleMesh(_arc().vertices + [200.0, 0.0, 0.0], _arc().triangles), 290.0)


def test_tangents_reach_a_disc_at_the_stations_of_the_closed_form() -> None:
    """Brute force: the distance of the disc's center from each tangent."""
    forward, up, reach = -700.0, 250.0, 80.0
    first, last = spray_stations(TIRE, forward, up, reach)
    for station in np.linspace(-180.0, 0.0, 721):
        start, end = tangent_line(TIRE, float(station), 1.0)
        way = end - start
        to = np.array([forward, up]) - start
        hits = to @ way > 0.0 and abs(to[0] * way[1] - to[1] * way[0]) < reach
        assert hits == (first < station < last)


def test_tread_runs_forward_over_the_top() -> None:
    start, end = tangent_line(TIRE, 0.0, 10.0)
    np.testing.assert_allclose(start, [0.0, TIRE], atol=1e-9)
    np.testing.assert_allclose(end, [10.0, TIRE], atol=1e-9)
    start, end = tangent_line(TIRE, -90.0, 10.0)
    np.testing.assert_allclose(end - start, [0.0, 10.0], atol=1e-9)


def test_band_catches_what_meets_it_between_its_ends() -> None:
    """A tangent at t is as far out as the band's outer face at t + acos(R / R_o): its rear end is met up to there."""
    lead = np.degrees(np.arccos(TIRE / OUTER))
    assert free_station(_arc(), TIRE) == pytest.approx(REAR_DEG - lead, abs=0.3)
    foot = SprayTarget("foot", np.array([0.0, 500.0, 350.0]), 40.0)
    span = spray_stations(TIRE, -500.0, 350.0, 40.0)
    rear = np.mean(span) + lead
    (half,) = spray_hits(_arc(rear=rear), PROFILE, [foot])
    assert half.kept_off == pytest.approx(0.5, abs=0.06)
    assert half.from_deg == pytest.approx(span[0], abs=1.0) and half.to_deg == pytest.approx(rear - lead, abs=1.0)
    (dry,) = spray_hits(_arc(rear=rear - 20.0), PROFILE, [foot])
    assert dry.kept_off == 1.0 and np.isnan(dry.from_deg)
    (wet,) = spray_hits(_arc(rear=rear + 20.0), PROFILE, [foot])
    assert wet.kept_off == 0.0


def test_target_beside_the_tread_or_inside_the_wheel_stays_dry() -> None:
    beside = SprayTarget("peg", np.array([200.0, 500.0, 350.0]), 40.0)
    inside = SprayTarget("hub", np.array([0.0, 10.0, 0.0]), 20.0)
    for hit in spray_hits(_arc(), PROFILE, [beside, inside]):
        assert hit.kept_off == 1.0 and np.isnan(hit.to_deg)
    assert spray_stations(TIRE, -10.0, 0.0, 20.0) is None
