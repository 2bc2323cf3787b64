# SPDX-License-Identifier: GPL-3.0-or-later
"""Several readings of one thing."""

import math

import numpy as np
import pytest
from scipy import stats

from addon.core.base.errors import JobError
from addon.core.readings.readings import combine_readings, grubbs_limit, sheet_sigma, stray_reading
from addon.core.tables.hand_readings import ALPHA


def test_mean_and_doubt_of_ten_readings_are_their_own() -> None:
    values = [31.0, 32.0, 31.5, 30.5, 31.0, 31.5, 32.0, 31.0, 30.0, 31.5]
    found = combine_readings("mount.height", values, sigma=5.0, division=1.0)
    assert found.mean == pytest.approx(np.mean(values), abs=1e-12)
    assert found.standard_deviation == pytest.approx(np.std(values, ddof=1), abs=1e-12)
    assert found.standard_error == pytest.approx(np.std(values, ddof=1) / math.sqrt(10.0), abs=1e-12)
    assert found.sigma == pytest.approx(math.hypot(found.standard_error, 1.0 / math.sqrt(12.0)), abs=1e-12)


def test_few_readings_that_happen_to_agree_do_not_beat_the_known_doubt() -> None:
    found = combine_readings("mount.height", [30.0, 30.0, 30.0], sigma=0.5, division=0.0)
    assert found.standard_deviation == 0.0 and found.sigma == pytest.approx(0.5 / math.sqrt(3.0))
    wide = combine_readings("mount.height", [29.0, 30.0, 31.0], sigma=0.5, division=0.0)
    assert wide.sigma == pytest.approx(1.0 / math.sqrt(3.0))
    assert sheet_sigma([found, wide]) == wide.sigma


def test_grubbs_limit_is_the_published_one() -> None:
    """Two-sided 5 % critical values as in NIST/SEMATECH e-Handbook 1.3.5.17.1 (formula); rows of the table from memory."""
    for count, limit in {3: 1.1543, 4: 1.4812, 5: 1.7150, 6: 1.8871, 8: 2.1266, 10: 2.2900}.items():
        assert grubbs_limit(count) == pytest.approx(limit, abs=2e-4)


def test_the_example_of_the_handbook_has_a_stray_reading() -> None:
    """NIST/SEMATECH e-Handbook 1.3.5.17.1: eight uranium isotope readings, G = 2.4687 over 2.1266, the largest is stray."""
    values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
    stray = stray_reading(values, 0.5)
    assert stray is not None and stray.number == 8
    assert stray.off == pytest.approx(245.57 - np.mean(values[:-1]))


def test_a_stray_reading_is_named_but_stays_in() -> None:
    found = combine_readings("mount.height", [30.0, 30.5, 40.0], sigma=0.5)
    assert found.stray is not None and found.stray.number == 3
    assert found.mean == pytest.approx(33.5) and "reading 3 (40 mm)" in found.sentence


def test_two_readings_apart_name_no_culprit_but_ask_for_a_third() -> None:
    found = combine_readings("mount.height", [30.0, 35.0], sigma=0.5)
    assert found.stray is None and "take a third" in found.sentence
    assert "take a third" not in combine_readings("mount.height", [30.0, 30.5], sigma=0.5).sentence


def test_false_alarms_are_as_rare_as_stated() -> None:
    """Both tests are at ALPHA; together they may reach twice that. 2,000 seeded trials, three sigma of the count."""
    random = np.random.default_rng(11)
    trials = 2000
    alarms = sum(stray_reading(list(30.0 + 0.5 * random.standard_normal(5)), 0.5) is not None for _ in range(trials))
    assert alarms <= 2.0 * ALPHA * trials + 3.0 * math.sqrt(2.0 * ALPHA * trials)
    assert alarms > 0.2 * ALPHA * trials


def test_readings_that_cannot_be_are_refused() -> None:
    with pytest.raises(JobError, match=r"mount\.height: no reading"):
        combine_readings("mount.height", [])
    with pytest.raises(JobError, match="no number"):
        combine_readings("mount.height", [1.0, math.nan])
    with pytest.raises(JobError, match="negative"):
        combine_readings("mount.height", [1.0], sigma=-1.0)


def test_known_doubt_limits_a_stray_reading_where_the_closed_form_says() -> None:
    """Three readings: off the mean of the other two by z sigma sqrt(1.5), with z the normal quantile at ALPHA / 6 (scipy)."""
    limit = stats.norm.isf(ALPHA / 6.0) * 0.5 * math.sqrt(1.5)
    assert stray_reading([30.0, 30.4, 30.2 + 1.01 * limit], 0.5) is not None
    assert stray_reading([30.0, 30.4, 30.2 + 0.99 * limit], 0.5) is None
