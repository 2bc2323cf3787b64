# SPDX-License-Identifier: GPL-3.0-or-later
"""Hand readings against each other: which contradict, by how much, and which one is to blame."""

import math
from dataclasses import replace

import numpy as np
import pytest

from addon.core.base.errors import JobError
from addon.core.readings.cross_checks import HandReadings, SizeLimits, Taken, cross_checks, height_over_tire

RADIUS, HEIGHT, AHEAD, TILT = 300.0, 32.0, 20.0, 4.0


def _center() -> tuple[float, float]:
    """Pattern center (forward, up) by the sheet's formula, written out anew."""
    tilt = math.radians(TILT)
    return AHEAD, HEIGHT * math.cos(tilt) + math.sqrt(RADIUS**2 - (AHEAD + HEIGHT * math.sin(tilt)) ** 2)


def _true_readings() -> HandReadings:
    forward, up = _center()
    tilt = math.radians(TILT)
    return HandReadings(
        radius=Taken(RADIUS, 1.0),
        circumference=Taken(2.0 * math.pi * (RADIUS + 0.075), 2.0),
        ground_radius=Taken(RADIUS - 8.0, 1.5),
        width=Taken(121.0, 0.5),
        profile_half_width=Taken(60.0, 0.4),
        height=Taken(HEIGHT, 0.5),
        ahead=Taken(AHEAD, 1.0),
        tilt=Taken(TILT, 0.3),
        axle_to_face=Taken(up * math.cos(tilt) - forward * math.sin(tilt), 1.5),
        height_ahead=(60.0, Taken(height_over_tire(RADIUS, HEIGHT, AHEAD, TILT, 60.0), 0.5)),
        size=SizeLimits(297.5, 305.9, 120.0, 132.0, "from memory"),
    )


def test_height_over_tire_ends_on_the_tire() -> None:
    """The end of the tape, placed by hand in wheel axes, lies on the circle; at the pattern center it is the height itself."""
    forward, up = _center()
    tilt = math.radians(TILT)
    for along in (-80.0, 0.0, 60.0):
        height = height_over_tire(RADIUS, HEIGHT, AHEAD, TILT, along)
        end = (
            forward + along * math.cos(tilt) + height * math.sin(tilt),
            up + along * math.sin(tilt) - height * math.cos(tilt),
        )
        assert math.hypot(*end) == pytest.approx(RADIUS, abs=1e-9)
    assert height_over_tire(RADIUS, HEIGHT, AHEAD, TILT, 0.0) == pytest.approx(HEIGHT, abs=1e-9)


def test_true_readings_all_agree() -> None:
    checks = cross_checks(_true_readings())
    assert len(checks) == 8
    assert all(check.agrees and check.culprit is None and check.size == 0.0 for check in checks)


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("radius", Taken(315.0, 1.0)),
        ("circumference", Taken(2.0 * math.pi * 330.0, 2.0)),
        ("ground_radius", Taken(310.0, 1.5)),
        ("width", Taken(150.0, 0.5)),
        ("axle_to_face", Taken(350.0, 1.5)),
        ("tilt", Taken(9.0, 0.3)),
    ],
)
def test_a_reading_falsified_on_purpose_is_named(name: str, wrong: Taken) -> None:
    failed = [check for check in cross_checks(replace(_true_readings(), **{name: wrong})) if not check.agrees]
    assert failed and all(check.culprit == name for check in failed)


def test_size_of_a_contradiction_is_what_lies_past_the_expected_spread() -> None:
    readings = HandReadings(radius=Taken(310.0, 1.0), circumference=Taken(2.0 * math.pi * 300.075, 0.0))
    (check,) = cross_checks(readings)
    assert check.difference == pytest.approx(10.0, abs=1e-9) and check.size == pytest.approx(8.0, abs=1e-9)
    assert "contradict each other by 8.0 mm" in check.sentence and "the radius by tape" in check.sentence


def test_a_loaded_radius_taken_for_the_free_one_is_seen() -> None:
    """Equal radii mean that the wheel was not laden, or that the free radius was taken laden: never silent agreement."""
    (check,) = cross_checks(HandReadings(radius=Taken(300.0, 0.5), ground_radius=Taken(300.0, 0.5)))
    assert not check.agrees and check.expected[0] > 0.0


def test_expected_spread_covers_noise_of_the_stated_size() -> None:
    """400 seeded trials with noise of the stated sigmas: a check at two standard deviations alarms in about 5 %."""
    random = np.random.default_rng(5)
    true, alarms, made = _true_readings(), {"radius by tape": 0, "mount height plus": 0, "height read": 0}, 400
    for _ in range(made):
        noisy = {
            name: Taken(taken.value + taken.sigma * random.standard_normal(), taken.sigma)
            for name, taken in vars(true).items()
            if isinstance(taken, Taken)
        }
        along, second = true.height_ahead or (0.0, Taken(0.0, 0.0))
        noisy_second = (along, Taken(second.value + second.sigma * random.standard_normal(), second.sigma))
        for check in cross_checks(replace(true, **noisy, height_ahead=noisy_second)):
            for name in alarms:
                alarms[name] += check.name.startswith(name) and not check.agrees
    for count in alarms.values():
        assert 0.015 * made < count < 0.09 * made


def test_readings_that_cannot_be_are_refused() -> None:
    with pytest.raises(JobError, match="radius: reading"):
        cross_checks(HandReadings(radius=Taken(math.nan, 1.0)))
    with pytest.raises(JobError, match=r"mount\.ahead"):
        height_over_tire(300.0, 30.0, 320.0, 0.0, 0.0)
    far = replace(_true_readings(), height_ahead=(400.0, Taken(30.0, 0.5)))
    with pytest.raises(JobError, match="height_ahead"):
        cross_checks(far)
