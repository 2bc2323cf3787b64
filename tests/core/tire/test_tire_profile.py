# SPDX-License-Identifier: GPL-3.0-or-later
"""The tire's profile at its largest: convex, and never inside what was measured, is nominal, or is allowed."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.core.base.arrays import Array
from addon.core.base.errors import JobError
from addon.core.job.job_sheet import Job, parse_job
from addon.core.tire.job_tire import job_tire_size
from addon.core.tire.tire_profile import check_profile, possible_bulge, tire_profile

MEASURED = [[0, 0], [20, 3], [40, 12.5], [52, 24], [59, 38]]


def job_of(speed: float | None = 200, clearance: dict[str, float] | None = None, **tire: Any) -> Job:
    data: dict[str, Any] = {
        "tire": {"size": "120/70 ZR17 (58W)", **tire},
        "mount": {"height": 60, "bolts": [[20, 30], [-20, -30]], "thread": "M6"},
        "clearance": {"gap": 8, "runout_radial": 0, "runout_lateral": 0, **(clearance or {})},
        "wall": {"thickness": 3},
    }
    if speed is not None:
        data["wheel"] = {"top_speed_kmh": speed}
    return parse_job(data)


def contains(profile: Array, points: Array) -> bool:
    """True if no point lies outside the profile, which falls straight to the axle at its widest."""
    radius = np.interp(points[:, 0], profile[:, 0], profile[:, 1])
    return bool((points[:, 0] <= profile[-1, 0] + 1e-9).all() and (points[:, 1] <= radius + 1e-9).all())


def circle(radius: float, width: float) -> Array:
    """The upper half of a torus section: a circle as wide as the tire."""
    angle = np.linspace(0, np.pi / 2, 200)
    return np.column_stack([width / 2 * np.sin(angle), radius - width / 2 + width / 2 * np.cos(angle)])


def crown_arc(crown: float, half: float, radius: float) -> Array:
    angle = np.linspace(0, np.arcsin(half / radius), 200)
    return np.column_stack([radius * np.sin(angle), crown - radius + radius * np.cos(angle)])


def test_arc_of_an_unmeasured_tire() -> None:
    """Facts 6: one arc of radius 0.75 W falls 0.191 W at the edge; facts T15 (from memory): width 132, radius 313.4 at W speed."""
    profile = tire_profile(job_of(speed=None)).largest
    assert profile[0] == pytest.approx([0.0, 313.4], abs=0.05)
    assert profile[-1, 0] == pytest.approx(66.0)
    assert profile[0, 1] - profile[-1, 1] == pytest.approx(0.191 * 132, abs=0.1)
    assert contains(profile, crown_arc(313.44, 66.0, 0.75 * 132))
    # the tangents that enclose the arc lie at most this far outside it
    radius = np.interp(*crown_arc(313.44, 66.0, 0.75 * 132).T[:1], profile[:, 0], profile[:, 1])
    assert np.abs(radius - crown_arc(313.44, 66.0, 0.75 * 132)[:, 1]).max() < 0.01


def test_runout_moves_every_point_out() -> None:
    still = tire_profile(job_of()).largest
    moving = tire_profile(job_of(clearance={"runout_radial": 1.5, "runout_lateral": 2.0})).largest
    assert moving[-1] == pytest.approx(still[-1] + [2.0, 1.5])
    assert moving[0, 1] == pytest.approx(still[0, 1] + 1.5)
    assert contains(moving, still + [2.0, 1.5])


def test_measured_values_keep_the_allowances() -> None:
    nominal = tire_profile(job_of()).largest
    larger = tire_profile(job_of(measured_radius=303.0, measured_width=124.0)).largest
    smaller = tire_profile(job_of(measured_radius=296.0, measured_width=116.0)).largest
    assert larger[0, 1] == pytest.approx(nominal[0, 1] + 3.0)
    assert larger[-1, 0] == pytest.approx(nominal[-1, 0] + 2.0)
    # one tire that runs small does not make the next one small
    assert smaller == pytest.approx(nominal)


def test_measured_profile_is_inside_with_all_allowances() -> None:
    job = job_of(measured_radius=301.0, measured_width=119.0, profile=MEASURED)
    profile = tire_profile(job)
    points = np.column_stack([np.array(MEASURED)[:, 0], 301.0 - np.array(MEASURED)[:, 1]])
    shift = np.array([profile.lateral_growth_mm, profile.radial_growth_mm])
    assert contains(profile.static, points)
    assert contains(profile.largest, points + shift)
    assert profile.largest[0, 1] == pytest.approx(301.0 + profile.radial_growth_mm)
    # at the shoulder it takes less room than the arc that stands for every crown
    arc = tire_profile(job_of(measured_radius=301.0, measured_width=119.0)).largest
    assert np.interp(62.0, *profile.largest.T) < np.interp(62.0, *arc.T) - 5.0


@pytest.mark.parametrize(
    ("profile", "key", "says"),
    [
        ([[0, 0], [30, 5], [25, 8], [60, 30]], "tire.profile[2]", "turns back"),
        ([[0, 0], [30, 5], [45, 4], [60, 30]], "tire.profile[2]", "turns back"),
        ([[0, 0], [30, 5], [30, 8], [60, 30]], "tire.profile[2]", "turns back"),
        ([[0, 2], [30, 5], [60, 30]], "tire.profile[0]", "on the crown itself"),
        ([[0, 0], [20, 3], [40, 12]], "tire.profile[2]", "measured out to the edge"),
        ([[0, 0], [30, 5], [80, 30]], "tire.profile[2]", "contradict"),
    ],
)
def test_unusable_profile_is_named(profile: list[list[float]], key: str, says: str) -> None:
    job = job_of(measured_width=120.0, profile=profile)
    with pytest.raises(JobError) as caught:
        check_profile(job)
    assert caught.value.key == key
    assert says in str(caught.value)
    with pytest.raises(JobError):
        tire_profile(job)


def test_the_crown_itself_need_not_be_stated() -> None:
    whole = tire_profile(job_of(measured_width=119.0, profile=MEASURED)).largest
    np.testing.assert_allclose(tire_profile(job_of(measured_width=119.0, profile=MEASURED[1:])).largest, whole)


def test_possible_bulge_by_hand() -> None:
    """A right angle cut by one side of 10 x 10: the corner stands 10 / sqrt 2 out. A fine circle has next to none."""
    assert possible_bulge(np.array([[0.0, 300.0], [10.0, 290.0]])) == pytest.approx(10 / np.sqrt(2))
    assert possible_bulge(circle(300.0, 120.0)) < 0.01
    angle = np.linspace(0, np.pi / 2, 7)
    coarse = np.column_stack([60 * np.sin(angle), 240 + 60 * np.cos(angle)])
    sagitta = 60 * (1 - np.cos(np.pi / 24))
    assert possible_bulge(coarse) > sagitta  # the true circle is within the bound


TIRES = st.fixed_dictionaries(
    {"size": st.sampled_from(["120/70 ZR17", "90/90-21", "130/90 B16", "180/55 ZR17", "3.25-19", "MT90-16", "100/90-12"])},
    optional={"use": st.sampled_from(["normal", "snow", "special"])},
)


@given(TIRES, st.floats(0.95, 1.06), st.floats(0.9, 1.2), st.floats(50, 300), st.booleans())
def test_p2_contains_nominal_torus_largest_new_tire_and_the_measured_one(
    tire: dict[str, Any], radius_share: float, width_share: float, speed: float, crowned: bool
) -> None:
    size = job_tire_size(job_of(speed, **tire))
    radius, width = radius_share * size.nominal_radius_mm, width_share * size.section_width_mm
    values = {**tire, "measured_radius": radius, "measured_width": width}
    if crowned:
        # a pointed crown, as on race tires
        values["profile"] = [[0, 0], [width / 4, width / 10], [width / 2, width / 3]]
    profile = tire_profile(job_of(speed, **values))
    largest = profile.largest
    for points in (
        profile.static,
        circle(size.nominal_radius_mm, size.section_width_mm),
        circle(size.largest_new_radius_mm, size.largest_new_width_mm),
        circle(size.radius_at_speed_mm, size.largest_new_width_mm),
        circle(radius, width),
    ):
        assert contains(largest, points)
    steps = np.diff(largest, axis=0)
    assert largest[0, 0] == 0.0 and (steps[:, 0] > 0).all() and (steps[:, 1] <= 0).all()
    assert (np.diff(steps[:, 1] / steps[:, 0]) < 1e-9).all()


@given(
    TIRES, st.tuples(st.floats(20, 400), st.floats(20, 400)), st.tuples(st.floats(0, 5), st.floats(0, 5)), st.floats(0.96, 1.05)
)
def test_p1_never_shrinks_with_speed_runout_or_size(
    tire: dict[str, Any], speeds: tuple[float, float], runouts: tuple[float, float], share: float
) -> None:
    radius = job_tire_size(job_of(**tire)).nominal_radius_mm
    slow, fast = sorted(speeds)
    less, more = sorted(runouts)
    base = tire_profile(job_of(slow, {"runout_radial": less, "runout_lateral": less}, **tire, measured_radius=share * radius))
    for other in (
        job_of(fast, {"runout_radial": less, "runout_lateral": less}, **tire, measured_radius=share * radius),
        job_of(slow, {"runout_radial": more, "runout_lateral": more}, **tire, measured_radius=share * radius),
        job_of(slow, {"runout_radial": less, "runout_lateral": less}, **tire, measured_radius=share * radius + 2),
    ):
        assert contains(tire_profile(other).largest, base.largest)
