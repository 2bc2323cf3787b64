# SPDX-License-Identifier: GPL-3.0-or-later
"""The budget adds up, names its bases, and agrees with the envelope."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from addon.core.base.errors import JobError
from addon.core.clearance.budget import Budget, BudgetLine, budget
from addon.core.clearance.budget_options import budget_options
from addon.core.clearance.clearance_field import clearance_field
from addon.core.job.job_sheet import Job, job_to_dict, parse_job
from addon.core.report.cautions import cautions
from addon.core.tire.tire_profile import check_fitted, tire_profile

STATED = {"gap": 8, "runout_radial": 1.0, "runout_lateral": 1.5, "flex": 4.0, "coverage_factor": 3}


def job_of(clearance: dict[str, float] | None = None, wall: dict[str, Any] | None = None, **tire: Any) -> Job:
    return parse_job(
        {
            "tire": {"size": "120/70 ZR17 (58W)", **tire},
            "mount": {"height": 60, "bolts": [[20, 30], [-20, -30]], "thread": "M6"},
            "clearance": {"gap": 8} if clearance is None else clearance,
            "wall": {"thickness": 3, **(wall or {})},
        }
    )


def named(found: Budget) -> dict[str, BudgetLine]:
    return {line.name: line for line in found.lines}


def test_lines_by_hand() -> None:
    """300 nominal, 305.88 largest new, 313.44 at W speed (facts T15, from memory); measured 301 keeps the growth."""
    found = budget(job_of(STATED, measured_radius=301.0, measured_width=121.0, sigma=0.5))
    got = {line.name: (round(line.mm, 2), line.basis) for line in found.lines}
    assert got == {
        "tire size tolerance": (5.88, "from memory"),
        "tire growth at speed": (7.56, "from memory"),
        "tire width tolerance": (6.0, "from memory"),
        "radial run-out": (1.0, "measured"),
        "lateral run-out": (1.5, "measured"),
        "gap": (8.0, "common practice"),
        "fender flex": (4.0, "common practice"),
        "measurement uncertainty": (1.5, "measured"),
        "wall": (3.0, "common practice"),
    }
    assert found.required_mm == pytest.approx(8 + 4 + 3 * 0.5)
    assert found.skin_required_mm == pytest.approx(16.5)
    assert found.envelope_mm == pytest.approx(14.44)
    assert found.worst_case_mm == pytest.approx(14.44 + 13.5 + 3)
    # fixed: growth at speed, gap and wall; by squares: tolerance, run-out, flex, uncertainty
    assert found.root_sum_square_mm == pytest.approx(7.56 + 8 + 3 + math.sqrt(5.88**2 + 1 + 16 + 2.25))
    assert found.lateral_worst_case_mm == pytest.approx(6 + 1.5 + 13.5 + 3)
    assert found.used == "worst case"


def test_root_sum_square_never_exceeds_the_worst_case() -> None:
    for clearance in (STATED, {"gap": 8}):
        found = budget(job_of(clearance))
        assert found.root_sum_square_mm < found.worst_case_mm


def test_what_is_not_stated_is_a_default_and_says_so() -> None:
    lines = named(budget(job_of()))
    defaults = {name for name, line in lines.items() if line.basis == "default"}
    assert defaults == {"radial run-out", "lateral run-out", "fender flex", "measurement uncertainty"}
    assert (lines["radial run-out"].mm, lines["lateral run-out"].mm) == (3.0, 4.0)  # UK MOT manual 5.2.2, in full
    assert all("not stated" in lines[name].note for name in defaults)


def test_a_radius_that_was_not_measured_costs_room() -> None:
    """The height is taped from a tire that may be 0.03 H under nominal: 2.52 mm for 120/70-17 (facts 1.3, from memory)."""
    without = budget(job_of(STATED))
    assert named(without)["radius not measured"].mm == pytest.approx(2.52)
    assert without.required_mm == pytest.approx(budget(job_of(STATED, measured_radius=300.0)).required_mm + 2.52)


@pytest.mark.parametrize(("side", "share"), [("inside", 3.0), ("middle", 1.5), ("outside", 0.0)])
def test_wall_share_by_side(side: str, share: float) -> None:
    found = budget(job_of(STATED, {"side": side}))
    assert found.wall_mm == pytest.approx(share)
    assert found.required_mm == pytest.approx(budget(job_of(STATED)).required_mm)


@pytest.mark.parametrize("radius", [None, 296.0, 300.0, 304.0])
@pytest.mark.parametrize("width", [None, 117.0, 125.0])
def test_envelope_lines_are_what_the_envelope_holds(radius: float | None, width: float | None) -> None:
    measured = {"measured_radius": radius, "measured_width": width}
    job = job_of(STATED, **{key: value for key, value in measured.items() if value is not None})
    found, profile = budget(job), tire_profile(job)
    assert profile.largest[0, 1] - profile.static[0, 1] == pytest.approx(found.envelope_mm)
    lateral = sum(line.mm for line in found.lines if line.in_envelope and line.direction == "lateral")
    assert profile.largest[-1, 0] - profile.static[-1, 0] == pytest.approx(lateral)


def test_all_bases_are_of_the_known_words() -> None:
    words = {"published", "common practice", "measured", "from memory", "default"}
    for job in (job_of(), job_of(STATED, measured_radius=301.0, sigma=1)):
        assert {line.basis for line in budget(job).lines} <= words
        assert all(line.mm >= 0 and line.note for line in budget(job).lines)


def test_computed_flex_takes_the_place_of_the_default_but_not_of_a_stated_one() -> None:
    guessed, computed = budget(job_of()), budget(replace(job_of(), computed_flex=4.6))
    line = named(computed)["fender flex"]
    assert (line.mm, line.basis) == (4.6, "computed") and "not stated" in line.note
    assert computed.required_mm == pytest.approx(guessed.required_mm + 4.6 - 3.0)
    stated = named(budget(replace(job_of(STATED), computed_flex=4.6)))["fender flex"]
    assert (stated.mm, stated.basis) == (4.0, "common practice")


def test_only_the_fitted_tire_has_no_tolerance_but_grows() -> None:
    """The envelope is the measured tire with its growth at speed and run-out: 301 + 7.56 + 1 at the crown, 60.5 + 1.5 wide."""
    job = job_of({**STATED, "tire": "fitted"}, measured_radius=301.0, measured_width=121.0, sigma=0.5)
    found, lines = budget(job), named(budget(job))
    assert (lines["tire size tolerance"].mm, lines["tire width tolerance"].mm) == (pytest.approx(0.0), pytest.approx(0.0))
    assert lines["tire growth at speed"].mm == pytest.approx(7.56)
    assert found.envelope_mm == pytest.approx(8.56)
    largest = tire_profile(job).largest
    assert largest[0, 1] == pytest.approx(301 + 7.56 + 1.0)
    assert largest[-1, 0] == pytest.approx(60.5 + 1.5)
    any_tire = job_of(STATED, measured_radius=301.0, measured_width=121.0, sigma=0.5)
    assert tire_profile(any_tire).largest[0, 1] - largest[0, 1] == pytest.approx(5.88)
    assert any("Only the fitted tire is cleared" in said for said in cautions(job))


def test_a_fitted_tire_must_be_measured() -> None:
    for missing in ("measured_radius", "measured_width"):
        measured = {"measured_radius": 301.0, "measured_width": 121.0}
        measured.pop(missing)
        with pytest.raises(JobError, match=f"state tire.{missing}"):
            check_fitted(job_of({**STATED, "tire": "fitted"}, sigma=0.5, **measured))
    check_fitted(job_of({**STATED, "tire": "fitted"}, sigma=0.5, measured_radius=301.0, measured_width=121.0))


def test_squares_take_off_what_they_save_where_it_is_least_but_not_the_gap() -> None:
    """At the sides 6, 1.5, 4 and 1.5 vary on their own: their sum less their root of squares is less than at the crown."""
    found = budget(job_of({**STATED, "sum": "squares"}, measured_radius=301.0, measured_width=121.0, sigma=0.5))
    crown = 5.88 + 1 + 4 + 1.5 - math.sqrt(5.88**2 + 1 + 16 + 2.25)
    sides = 6 + 1.5 + 4 + 1.5 - math.sqrt(36 + 2.25 + 16 + 2.25)
    assert found.required_worst_mm == pytest.approx(13.5)
    assert found.required_mm == found.required_squares_mm == pytest.approx(max(8.0, 13.5 - min(crown, sides)))
    assert 8.0 <= found.required_mm < 13.5 and found.used == "by squares"
    large = {**STATED, "sum": "squares", "flex": 0.5, "runout_radial": 20.0, "runout_lateral": 20.0}
    assert budget(job_of(large, measured_radius=301.0, measured_width=121.0, sigma=0.1)).required_mm == 8.0


def test_keepouts_add_flex_and_doubt_by_squares_too() -> None:
    rod = {"name": "rod", "kind": "capsule", "a": [0, 0, 500], "b": [9, 0, 500], "radius": 5.0, "gap": 2.0}
    for sum_, taken in (("worst", 4 + 1.5), ("squares", math.hypot(4, 1.5))):
        job = replace(
            job_of({**STATED, "sum": sum_}, measured_radius=301.0, sigma=0.5),
            keepouts=parse_job({**job_to_dict(job_of(STATED, sigma=0.5)), "keepout": [rod]}).keepouts,
        )
        assert clearance_field(job, "part").limits[1].required_mm == pytest.approx(2.0 + taken)


def test_options_tell_what_they_save_and_what_they_cost() -> None:
    job = job_of(STATED, measured_radius=301.0, measured_width=121.0, sigma=0.5)
    found = {option.name: option for option in budget_options(job)}
    fitted = found['clearance.tire = "fitted"']
    assert fitted.saves_mm == pytest.approx(5.88) and "every change of tire" in fitted.price
    assert found["half of the fender flex"].saves_mm == pytest.approx(2.0)
    assert found["half of the measurement uncertainty"].saves_mm == pytest.approx(0.75)
    saved = [option.saves_mm for option in budget_options(job)]
    assert saved == sorted(saved, reverse=True)
    assert not [
        name for name in {option.name for option in budget_options(job_of({**STATED, "sum": "squares"}))} if "squares" in name
    ]


def test_sums_hang_on_codes_and_not_on_names() -> None:
    found = budget(job_of(STATED, sigma=0.5))
    renamed = replace(found, lines=tuple(replace(line, name="another") for line in found.lines))
    flex, factor = STATED["flex"], STATED.get("coverage_factor", 2.0)
    assert renamed.flex_mm == pytest.approx(flex)
    assert renamed.flex_and_uncertainty_mm == pytest.approx(flex + factor * 0.5)
    assert len({line.code for line in found.lines}) == len(found.lines)
