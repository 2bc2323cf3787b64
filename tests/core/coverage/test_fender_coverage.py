# SPDX-License-Identifier: GPL-3.0-or-later
"""Coverage of a job: what is reported, and what is told where a height was not stated."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from addon.core.base.wheel_axes import point_at
from addon.core.coverage.coverage import (
    coverage_cautions,
    coverage_lines,
    coverage_report,
    fender_coverage,
    job_targets,
    steepest_free_deg,
)
from addon.core.coverage.spray import tangent_line
from addon.core.job.job_sheet import Coverage, Target, read_job_sheet
from tests.core.coverage.test_coverage import FRONT_DEG, REAR_DEG, _arc

JOB = read_job_sheet(Path(__file__).parents[3] / "blend_demo" / "front_17.toml")
FOOT = Target(name="foot", center=(40.0, 500.0, 100.0), radius=50.0, sides="both")


def test_heights_are_over_the_ground_that_is_stated() -> None:
    told = coverage_report(fender_coverage(replace(JOB, coverage=Coverage(axle_height=280.0)), _arc()))
    assert told["axle_height_basis"] == "stated"
    assert told["front_tip"]["station_deg"] == pytest.approx(FRONT_DEG) and told["rear_tip"]["station_deg"] == pytest.approx(
        REAR_DEG
    )
    low = point_at(320.0, REAR_DEG)[2]
    assert told["lowest"]["height_mm"] == pytest.approx(280.0 + low, abs=0.06)
    assert coverage_cautions(fender_coverage(replace(JOB, coverage=Coverage(axle_height=280.0)), _arc())) == ()


def test_height_that_is_not_stated_is_told() -> None:
    cover = fender_coverage(JOB, _arc())
    assert cover.axle_height == JOB.tire.measured_radius
    (sentence,) = coverage_cautions(cover)
    assert "coverage.axle_height was not stated" in sentence and "299 mm" in sentence


def test_targets_on_both_sides_count_twice_and_are_told() -> None:
    job = replace(JOB, targets=(FOOT, replace(FOOT, name="plate", center=(0.0, 600.0, 500.0))))
    assert [target.name for target in job_targets(job)] == ["foot", "foot, other side", "plate"]
    cover = fender_coverage(job, _arc())
    told = coverage_report(cover)["targets"]
    assert told[0]["kept_off"] == told[1]["kept_off"] and told[0]["from_station_deg"] == told[1]["from_station_deg"]
    assert [line for line in coverage_lines(cover) if line.startswith("foot: spray from")]


def test_slope_of_the_steepest_free_spray_is_that_of_its_line() -> None:
    cover = fender_coverage(JOB, _arc())
    start, end = tangent_line(300.0, cover.free_deg, 1.0)
    forward, up = end - start
    assert math.degrees(math.atan2(up, -forward)) == pytest.approx(steepest_free_deg(cover))


def test_fender_all_round_leaves_no_spray() -> None:
    cover = fender_coverage(JOB, _arc(rear=-175.0, front=20.0))
    told = coverage_report(cover)
    assert told["hidden_from_behind"] == pytest.approx(1.0, abs=0.02)
    assert told["free_spray_to_deg"] is None or told["free_spray_to_deg"] < -175.0
    np.testing.assert_array_less(told["free_spray_to_deg"] or -180.0, -175.0)
