# SPDX-License-Identifier: GPL-3.0-or-later
"""Stiffness of whole jobs: in the report, and in the budget where no flex is stated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import addon
from addon.core.clearance.clearance_field import clearance_field
from addon.core.clearance.room import room
from addon.core.job.job_sheet import Job, read_job_sheet
from addon.core.report.check_job import check_job
from addon.core.shaping.seed import seed_cage
from addon.core.skin.cage import Cage
from addon.core.stiffness.stiffness_report import stiffness_cautions, wheel_hz
from addon.host.job_run import run_job
from addon.pipeline.job_result import Timings, make_job
from addon.pipeline.job_stiffness import flex_of_cage, job_stiffness_steps, with_computed_flex
from addon.pipeline.steps import run_steps
from addon.ui.shape.scene_setup import save_scene

SHEET = Path(__file__).resolve().parents[2] / "blend_demo" / "front_17.toml"


def seeded_cage(job: Job) -> Cage:
    return seed_cage(job, clearance_field(job)).cage


@pytest.fixture(scope="module")
def unstated() -> Job:
    job = read_job_sheet(SHEET)
    return replace(job, clearance=replace(job.clearance, flex=None))


@pytest.fixture(scope="module", autouse=True)
def registered() -> Iterator[None]:
    addon.register()
    yield
    addon.unregister()


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Of the demo sheet without its flex."""
    folder = tmp_path_factory.mktemp("unstated")
    sheet = folder / "sheet.toml"
    sheet.write_text(SHEET.read_text().replace("flex = 3.0\n", ""))
    return run_job(sheet, folder / "out", lambda _: None, save_scene).report


def test_the_budget_counts_what_the_finished_fender_does(report: dict[str, Any]) -> None:
    """The circle of flex, budget, height and flex is closed: what is counted is no less than what comes out, by a fifth or so."""
    (line,) = [line for line in report["budget"] if line["name"] == "fender flex"]
    part = report["stiffness"]["print"]
    assert line["basis"] == "computed"
    assert part["flex_mm"] <= line["mm"] <= part["flex_mm"] + 0.5
    clearance = report["clearance"]
    assert clearance["required_mm"] == pytest.approx(10.0 + line["mm"] + 2.0 * 0.7)
    assert clearance["proven_min_mm"] >= clearance["required_mm"]
    assert "flex" not in report["job"]["clearance"]  # the sheet stays as it was
    assert not any("fender flex" in caution for caution in report["cautions"])


def test_what_the_report_says(report: dict[str, Any]) -> None:
    stiffness = report["stiffness"]
    part = stiffness["print"]
    assert [tip["name"] for tip in part["tips"]] == ["front", "rear"]
    assert all(tip["push_n"] == 5.0 and 0.3 < tip["deflection_mm"] <= part["flex_mm"] + 0.5 for tip in part["tips"])
    assert part["frequencies_hz"] == sorted(part["frequencies_hz"]) and len(part["frequencies_hz"]) == 5
    assert 0.0 < part["layer_stress_mpa"] < part["layer_strength_mpa"] == 22.0
    assert part["elements"] <= 2000 and 0.0 < part["change_from_half"] < 0.1
    assert stiffness["speed_kmh"] == 200.0 and stiffness["wheel_hz"] == pytest.approx(200 / 3.6 / (6.283185 * 0.2992), abs=0.01)
    assert report["timings_s"]["stiffness"] > 0.0


def test_a_stated_flex_wins_and_a_caution_says_what_comes_out(unstated: Job) -> None:
    job = replace(unstated, clearance=replace(unstated.clearance, flex=1.0))
    assert with_computed_flex(job, seeded_cage) is job
    made = make_job(job, seeded_cage(job), Timings(lambda _: None))
    stiffness = run_steps(job_stiffness_steps(made))
    assert stiffness.laminated is None and stiffness.final is stiffness.printed
    said = stiffness_cautions(job, stiffness)
    assert said[0].startswith("The part comes ") and "rear tip" in said[0]
    assert said[0].endswith("the budget counts 1.0 mm of fender flex, as stated.")
    generous = replace(job, clearance=replace(job.clearance, flex=20.0))
    assert not any("fender flex" in each for each in stiffness_cautions(generous, stiffness))
    weak = replace(stiffness, printed=replace(stiffness.printed, stress=replace(stiffness.printed.stress, mpa=12.0)))
    assert any("pulls the layers apart with 12.0 MPa at station" in each for each in stiffness_cautions(generous, weak))
    fast = replace(generous, wheel=replace(generous.wheel, top_speed_kmh=280.0))
    hertz = wheel_hz(fast)
    assert hertz is not None and hertz * 1.2 > stiffness.final.modes.frequencies_hz[0]
    assert any("the wheel turns 41 times at top speed" in each for each in stiffness_cautions(fast, stiffness))
    assert not any("the wheel turns" in each for each in stiffness_cautions(generous, stiffness))


def test_without_room_for_it_the_default_stays_and_a_caution_tells(unstated: Job) -> None:
    """A rag of 0.8 mm gives way by more than any sheet may state; a mount that is just high enough has no room for more."""
    rag = replace(unstated, wall=replace(unstated.wall, thickness=0.8))
    assert flex_of_cage(rag, seeded_cage(rag)) > 20.0
    assert with_computed_flex(rag, seeded_cage) is rag
    missing = room(unstated).missing_mm
    low = replace(unstated, mount=replace(unstated.mount, height=unstated.mount.height + missing + 0.3))
    check_job(low)
    soft = replace(low, wall=replace(low.wall, thickness=2.0))
    assert with_computed_flex(soft, seeded_cage) is soft
    made = make_job(soft, seeded_cage(soft), Timings(lambda _: None))
    said = stiffness_cautions(soft, run_steps(job_stiffness_steps(made)))
    assert "the budget counts 3.0 mm of fender flex, for there is no room for more" in said[0]


def test_flex_that_never_settles_is_not_counted(unstated: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    grown = iter(range(40, 60, 3))
    monkeypatch.setattr("addon.pipeline.job_stiffness.flex_of_cage", lambda *_: 0.1 * next(grown))
    assert with_computed_flex(unstated, seeded_cage) is unstated
