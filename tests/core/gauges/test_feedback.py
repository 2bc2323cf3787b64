# SPDX-License-Identifier: GPL-3.0-or-later
"""Gaps read on a bike that is not as its sheet says: the sheet is recovered, or refused with the reading that is missing."""

import math
from dataclasses import replace

import numpy as np
import pytest

from addon.core.base.errors import JobError
from addon.core.gauges.feedback import DirectReading, Feedback, GapReading, _chi_square_limit, feedback
from addon.core.job.job_sheet import Job, parse_job
from addon.core.readings.feedback_geometry import QUANTITIES, GapModel, Place, sheet_values
from addon.core.seat.mount import mount_frame
from addon.core.tables.gauge_rules import FEELER_SIGMA_MM

TRUE = {"height": 33.1, "ahead": 17.0, "tilt": 4.2, "lateral": 1.8, "crown_radius": 301.4}
"""The bike, in the order of QUANTITIES; the sheet below is falsified against it."""
PROFILE = [[0, 0], [10, 0.8], [20, 3.2], [30, 7.5], [40, 14.2], [50, 24.5], [57, 36], [60, 45]]


def _sheet(**changes: object) -> Job:
    tire: dict[str, object] = {"size": "120/70 ZR17", "measured_radius": 300.0, "measured_width": 120.0, "profile": PROFILE}
    tire.update(changes)
    return parse_job(
        {
            "tire": {key: value for key, value in tire.items() if value is not None},
            "mount": {"height": 32.0, "ahead": 20.0, "tilt": 3.0, "bolts": [[-25, -20], [25, 20]], "thread": "M6"},
            "clearance": {"gap": 10.0},
            "wall": {"thickness": 3.0},
            "cage": {"front": 40.0, "rear": -80.0},
        }
    )


def _places(stations: tuple[float, ...] = (-60.0, -20.0, 30.0), points: str = "C L1 R1 L2 R2") -> list[Place]:
    """Points of strips 25 mm over a crown of radius 300 in the sheet's axes."""
    frame = mount_frame(_sheet())
    offset = {"C": 0.0, "L1": 30.0, "R1": -30.0, "L2": 51.0, "R2": -51.0}
    drop = {"C": 0.0, "L1": 6.0, "R1": 6.0, "L2": 20.0, "R2": 20.0}
    places = []
    for station in stations:
        for name in points.split():
            rho, angle = 325.0 - drop[name], math.radians(station)
            at = np.array([offset[name], -rho * math.sin(angle), rho * math.cos(angle)]) - frame.origin
            places.append(Place(station, name, np.array([at @ frame.x, at @ frame.forward, at @ frame.up])))
    return places


def _true_gaps(places: list[Place]) -> np.ndarray:
    """Gaps on the bike by a second way: the tire's profile sampled finely, brute force over its points."""
    height, ahead, tilt, lateral, radius = TRUE.values()
    t = math.radians(tilt)
    z = height * math.cos(t) + math.sqrt(radius**2 - (ahead + height * math.sin(t)) ** 2)
    profile = np.array(PROFILE, dtype=float)
    x = np.linspace(-60.0, 60.0, 24001)
    rho = radius - np.interp(np.abs(x), profile[:, 0], profile[:, 1])
    gaps = []
    for place in places:
        u, v, w = place.position
        y = -ahead - v * math.cos(t) + w * math.sin(t)
        up = z + v * math.sin(t) + w * math.cos(t)
        gaps.append(np.hypot(x - u - lateral, rho - math.hypot(y, up)).min())
    return np.array(gaps)


def _read(places: list[Place], noise: float = 0.0, seed: int = 0) -> list[GapReading | DirectReading]:
    random = np.random.default_rng(seed)
    gaps = _true_gaps(places) + noise * random.standard_normal(len(places))
    return [GapReading(place, float(gap)) for place, gap in zip(places, gaps, strict=True)]


def _by_name(result: Feedback) -> dict[str, tuple[float, float, bool]]:
    return {item.quantity: (item.corrected, item.standard_error, item.undetermined) for item in result.corrections}


def test_model_gaps_are_those_of_brute_force() -> None:
    places = _places()
    gaps = GapModel(_sheet()).gaps(np.array(list(TRUE.values())), np.array([place.position for place in places]))
    np.testing.assert_allclose(gaps, _true_gaps(places), atol=2e-4)


def test_turning_the_mount_about_the_axle_changes_no_gap() -> None:
    """Hence gaps cannot tell ahead from tilt: the derivative along that turn is zero."""
    positions = np.array([place.position for place in _places()])
    slopes = GapModel(_sheet()).slopes(sheet_values(_sheet()), positions)
    z = mount_frame(_sheet()).origin[2]
    # 1 degree nose up turns about the center; about the axle it also takes the center back by z per radian.
    turn = slopes[:, QUANTITIES.index("tilt")] - math.radians(1.0) * z * slopes[:, QUANTITIES.index("ahead")]
    np.testing.assert_allclose(turn, 0.0, atol=2e-4)
    assert np.abs(slopes[:, QUANTITIES.index("tilt")]).max() > 1.0


def test_falsified_sheet_is_recovered_without_noise() -> None:
    result = feedback(_sheet(), [*_read(_places()), DirectReading("tilt", TRUE["tilt"], 0.3)])
    for name, (value, error, undetermined) in _by_name(result).items():
        assert not undetermined and error > 0.0
        assert value == pytest.approx(TRUE[name], abs=5e-3), name
    assert result.refusals == () and result.warnings == () and result.chi_square < 0.01
    again = parse_job(result.sheet)
    assert again.mount.height == pytest.approx(33.1, abs=0.01) and again.tire.measured_radius == pytest.approx(301.4, abs=0.01)
    assert again.mount.bolts == ((-23.2, -20.0), (26.8, 20.0))
    assert replace(again, mount=_sheet().mount, tire=_sheet().tire) == _sheet()


def test_error_bars_are_calibrated() -> None:
    """150 seeded trials: pulls of the determined quantities have mean 0 and standard deviation 1 within sampling error."""
    places, trials = _places(), 150
    random = np.random.default_rng(77)
    pulls = []
    true = np.array(list(TRUE.values()))
    for trial in range(trials):
        tilt = DirectReading("tilt", TRUE["tilt"] + 0.3 * random.standard_normal(), 0.3)
        result = feedback(_sheet(), [*_read(places, FEELER_SIGMA_MM, 1000 + trial), tilt])
        found = _by_name(result)
        pulls.append([(found[name][0] - true[j]) / found[name][1] for j, name in enumerate(QUANTITIES)])
    scatter = np.std(pulls, axis=0)
    # One standard deviation of a standard deviation of 150 is 1 / sqrt(300) = 0.058.
    assert (np.abs(scatter - 1.0) < 4.0 * 0.058).all(), scatter
    assert (np.abs(np.mean(pulls, axis=0)) < 4.0 / math.sqrt(trials)).all()


def test_gaps_alone_refuse_ahead_and_tilt_and_ask_for_one_of_them() -> None:
    result = feedback(_sheet(), _read(_places()))
    found = _by_name(result)
    assert found["ahead"][2] and found["tilt"][2] and found["ahead"][0] == 20.0 and found["tilt"][0] == 3.0
    (refusal,) = result.refusals
    assert refusal.quantities == ("ahead", "tilt") and "plumb line" in refusal.reading
    for name in ("height", "lateral", "crown_radius"):
        value, error, undetermined = found[name]
        assert not undetermined and abs(value - TRUE[name]) < max(3.0 * error, 0.01)
    assert result.sheet["mount"]["tilt"] == 3.0 and result.sheet["mount"]["height"] == pytest.approx(33.1, abs=0.02)


def test_the_reading_that_is_asked_for_settles_it() -> None:
    with_it = feedback(_sheet(), [*_read(_places()), DirectReading("ahead", TRUE["ahead"], 1.0)])
    assert with_it.refusals == () and _by_name(with_it)["tilt"][0] == pytest.approx(TRUE["tilt"], abs=5e-3)


def test_one_strip_at_the_crown_determines_next_to_nothing_and_says_so() -> None:
    result = feedback(_sheet(), _read(_places(stations=(-20.0,), points="C")))
    refused = {name for refusal in result.refusals for name in refusal.quantities}
    assert {"lateral", "crown_radius", "ahead"} <= refused and len(result.refusals) == 4
    assert all(refusal.sentence.endswith(".") and refusal.reading for refusal in result.refusals)
    assert result.freedom == 0 and result.repeat is None and "nothing checks them" in result.warnings[0]


def test_without_shoulder_points_the_lateral_offset_is_refused() -> None:
    result = feedback(_sheet(), [*_read(_places(points="C")), DirectReading("tilt", 4.2, 0.3)])
    assert [refusal.quantities for refusal in result.refusals] == [("lateral",)]
    assert "L2" in result.refusals[0].reading or "R2" in result.refusals[0].reading or "tread" in result.refusals[0].reading


def test_a_slip_of_the_feeler_is_named_for_repetition() -> None:
    readings = _read(_places(), FEELER_SIGMA_MM, 4)
    slipped = readings[7]
    assert isinstance(slipped, GapReading)
    readings[7] = replace(slipped, mm=slipped.mm + 3.0)
    result = feedback(_sheet(), [*readings, DirectReading("tilt", 4.2, 0.3)])
    assert result.repeat == slipped.name
    assert any(slipped.name in warning for warning in result.warnings) and any("contradict" in w for w in result.warnings)


def test_leverage_and_cook_are_those_of_leaving_readings_out() -> None:
    """Leverage sums to the number of quantities; Cook's distance by its definition, refitting without the reading."""
    readings = [*_read(_places(), FEELER_SIGMA_MM, 9), DirectReading("tilt", 4.3, 0.3)]
    full = feedback(_sheet(), readings)
    assert sum(item.leverage for item in full.influences) == pytest.approx(5.0, abs=1e-6)
    precision = np.linalg.inv(full.covariance)
    for i in (0, 4, 11):
        less = feedback(_sheet(), readings[:i] + readings[i + 1 :])
        moved = np.array([a.corrected - b.corrected for a, b in zip(full.corrections, less.corrections, strict=True)])
        assert full.influences[i].cook == pytest.approx(moved @ precision @ moved / 5.0, rel=0.02, abs=1e-4)


def test_chi_square_limit_is_that_of_scipy() -> None:
    from scipy import stats

    for freedom in (1, 2, 5, 11, 40):
        assert _chi_square_limit(freedom) == pytest.approx(stats.chi2.isf(0.01, freedom), rel=0.03)


def test_readings_that_cannot_be_used_are_refused() -> None:
    place = _places()[1]
    with pytest.raises(JobError, match="readings: none"):
        feedback(_sheet(), [])
    with pytest.raises(JobError, match=r"gap at station -60 L1: nan"):
        feedback(_sheet(), [GapReading(place, math.nan)])
    with pytest.raises(JobError, match="sigma over 0"):
        feedback(_sheet(), [GapReading(place, 20.0, 0.0)])
    with pytest.raises(JobError, match="unknown quantity"):
        feedback(_sheet(), [DirectReading("weight", 20.0, 1.0)])
    with pytest.raises(JobError, match=r"no measured tire\.profile"):
        feedback(_sheet(profile=None), [GapReading(place, 20.0)])
