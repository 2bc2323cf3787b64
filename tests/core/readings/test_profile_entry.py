# SPDX-License-Identifier: GPL-3.0-or-later
"""Profiles by contour gauge, calipers and photograph, against the curve that they were taken from."""

import numpy as np
import pytest

from addon.core.base.errors import JobError
from addon.core.readings.profile_entry import profile_from_contour, profile_from_photograph, profile_from_widths


def _drop(offset: np.ndarray) -> np.ndarray:
    """An ellipse of half axes 60 and 45 mm: not a circle, so that turn and shift differ."""
    return 45.0 * (1.0 - np.sqrt(1.0 - (offset / 60.0) ** 2))


def _contour(points: int = 111, reach: float = 55.0) -> np.ndarray:
    across = np.linspace(-reach, reach, points)
    return np.column_stack([across, -_drop(across)])


def _assert_is_the_curve(rows: np.ndarray, tolerance: float) -> None:
    assert rows[0].tolist() == [0.0, 0.0] and (np.diff(rows[:, 0]) > 0.0).all()
    np.testing.assert_allclose(rows[:, 1], _drop(rows[:, 0]), atol=tolerance)


def test_contour_shifted_anywhere_finds_its_center() -> None:
    for shift in ((0.0, 0.0), (17.3, -250.0), (-8.1, 40.0)):
        entry = profile_from_contour(_contour()[::-1] + shift)
        _assert_is_the_curve(entry.rows, 0.08)
        assert entry.asymmetry is not None and entry.asymmetry < 0.1 and entry.warnings == ()


def test_contour_that_reaches_farther_on_one_side() -> None:
    entry = profile_from_contour(_contour()[20:] + (5.0, 3.0))
    _assert_is_the_curve(entry.rows, 0.08)


def test_turned_contour_with_its_center_marked_is_leveled() -> None:
    c, s = np.cos(0.2), np.sin(0.2)
    turned = _contour() @ np.array([[c, s], [-s, c]]) + (12.0, 7.0)
    entry = profile_from_contour(turned, center=(12.0, 7.0), turned=True)
    _assert_is_the_curve(entry.rows, 0.08)
    unleveled = profile_from_contour(turned, center=(12.0, 7.0))
    assert unleveled.asymmetry is not None and unleveled.asymmetry > 5.0
    assert any("left and right differ" in warning for warning in unleveled.warnings)


def test_noise_of_a_needle_gauge_is_averaged_not_hidden() -> None:
    random = np.random.default_rng(3)
    noisy = _contour()
    noisy[:, 1] += 0.2 * random.standard_normal(len(noisy))
    entry = profile_from_contour(noisy)
    _assert_is_the_curve(entry.rows, 0.8)
    assert entry.asymmetry is not None and 0.2 < entry.asymmetry < 2.0


def test_calipers_at_drops_in_any_order() -> None:
    drops = np.array([20.0, 5.0, 10.0, 30.0])
    widths = 2.0 * 60.0 * np.sqrt(1.0 - (1.0 - drops / 45.0) ** 2)
    entry = profile_from_widths(np.column_stack([drops, widths]))
    _assert_is_the_curve(entry.rows, 1e-9)
    assert len(entry.rows) == 5 and entry.asymmetry is None


def test_part_below_the_widest_place_is_named_and_left_out() -> None:
    entry = profile_from_widths([[5.0, 60.0], [20.0, 110.0], [40.0, 120.0], [50.0, 116.0]])
    assert entry.rows[-1].tolist() == [60.0, 40.0]
    assert any("50.0 mm" in warning for warning in entry.warnings)


def test_photograph_is_scaled_turned_over_and_corrected_for_depth() -> None:
    """200 mm of rule over 800 pixels, 100 mm behind the edge seen from 1,000 mm: the edge looks 1.1 times larger."""
    pixels = _contour() * [4.0 * 1.1, -4.0 * 1.1] + (900.0, 500.0)
    entry = profile_from_photograph(pixels, [[0.0, 0.0], [480.0, 640.0]], 200.0, distance_mm=1000.0, depth_mm=100.0)
    _assert_is_the_curve(entry.rows, 0.08)
    plain = profile_from_photograph(pixels, [[0.0, 0.0], [480.0, 640.0]], 200.0)
    assert plain.rows[-1, 0] == pytest.approx(1.1 * entry.rows[-1, 0], rel=1e-6)
    assert any("as far from the camera" in warning for warning in plain.warnings)


def test_hollow_and_hump_are_named() -> None:
    hollow = profile_from_widths([[2.0, 40.0], [20.0, 50.0], [22.0, 110.0]])
    assert any("hollow" in warning for warning in hollow.warnings)
    bump = _contour()
    bump[:, 1] += 6.0 * np.exp(-(((np.abs(bump[:, 0]) - 40.0) / 5.0) ** 2)) * 2.0
    assert any("climbs again" in warning for warning in profile_from_contour(bump, center=(0.0, 0.0)).warnings)


def test_entries_that_cannot_be_are_refused() -> None:
    with pytest.raises(JobError, match="same drop"):
        profile_from_widths([[5.0, 60.0], [5.0, 61.0]])
    with pytest.raises(JobError, match="more than 0"):
        profile_from_widths([[0.0, 60.0], [5.0, 61.0]])
    with pytest.raises(JobError, match="mark of the crown"):
        profile_from_contour(_contour(), turned=True)
    with pytest.raises(JobError, match="take both sides"):
        profile_from_contour(_contour(), center=(50.0, 0.0))
    with pytest.raises(JobError, match="at least 20 mm"):
        profile_from_contour(_contour(reach=9.0))
    with pytest.raises(JobError, match="known length"):
        profile_from_photograph(_contour(), [[0.0, 0.0], [1.0, 0.0]], 100.0)
    with pytest.raises(JobError, match="camera"):
        profile_from_photograph(_contour(), [[0.0, 0.0], [100.0, 0.0]], 100.0, distance_mm=50.0, depth_mm=-60.0)
    with pytest.raises(JobError, match="shape"):
        profile_from_contour([[0.0, 1.0, 2.0]])
