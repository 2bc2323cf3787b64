# SPDX-License-Identifier: GPL-3.0-or-later
"""Tires with knobs whose tops are known: the section that keeps clear is the one over the tops, with strays and noise left out."""

from __future__ import annotations

import json

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.ndimage import gaussian_filter1d
from scipy.signal import find_peaks

from addon.core.scan.alignment.align_scan import align_scan
from addon.core.scan.alignment.alignment_file import alignment_dict
from addon.core.scan.alignment.alignment_rows import alignment_rows
from addon.core.scan.data.scan_data import Scan
from addon.core.scan.wheel.axis import Axis
from addon.core.scan.wheel.center_plane import center_plane
from addon.core.scan.wheel.revolution_fit import RevolutionFit, fit_revolution
from addon.core.scan.wheel.tire_region import region_of
from addon.core.scan.wheel.tire_section import TireSection, tire_section
from addon.core.scan.wheel.tread import Tread, first_peak, tread_of

from .scan_scenes import HALF_HEIGHT, NOTHING, RADIUS, WIDTH, Knobs, disturbed, front_end, random_pose, section, tire

UNDER, OVER = 0.3, 0.6
"""Goal: never under the known tops by more than this plus the noise, never over by more, mm."""

TREADS = [
    (Knobs(2.0, 0.8), 0.5, 180.0),
    (Knobs(2.0, 0.3), 0.2, 360.0),
    (Knobs(2.0, 0.15), 0.5, 180.0),
    (Knobs(8.0, 0.5), 0.2, 180.0),
    (Knobs(12.0, 0.35, 3, 12.0), 0.1, 360.0),
    (Knobs(15.0, 0.25), 0.5, 180.0),
    (Knobs(20.0, 0.15), 0.3, 180.0),
    (Knobs(20.0, 0.8, 8, 4.0), 0.5, 180.0),
]


def roughly_fitted(points: np.ndarray, rng: np.random.Generator) -> RevolutionFit:
    """The fit of all points about an axis that starts half a millimeter off, as the search leaves it."""
    direction = np.array([1.0, *rng.normal(0.0, 0.002, 2)])
    axis = Axis(rng.normal(0.0, 0.5, 3), direction / np.linalg.norm(direction))
    rho, along = axis.meridian(points)
    near = (rho > 200.0) & (np.abs(along) < 70.0) & (rho < 305.0)
    return fit_revolution(points, region_of(axis, rho[near], along[near]), rng)


def over_tops(found: TireSection) -> np.ndarray:
    """How far the rows of a profile lie outside of the known tops, mm."""
    x, rho = section(np.radians(np.linspace(0.0, 110.0, 11_001)))
    offset, radius = found.profile[:, :1], found.crown_radius - found.profile[:, 1:]
    away = np.hypot(offset - x, radius - rho)
    nearest = away.argmin(axis=1)
    inside = (offset[:, 0] / (0.5 * WIDTH)) ** 2 + ((radius[:, 0] - RADIUS + HALF_HEIGHT) / HALF_HEIGHT) ** 2 < 1.0
    return np.where(inside, -1.0, 1.0) * away[np.arange(len(nearest)), nearest]


def measured(points: np.ndarray, rng: np.random.Generator) -> tuple[Tread, TireSection]:
    found = tread_of(points, roughly_fitted(points, rng), rng)
    assert found is not None
    return found, tire_section(found.points, found.fit, center_plane(found.fit), True)


@pytest.mark.parametrize(("knobs", "noise", "arc"), TREADS)
def test_the_section_is_the_one_over_the_tops(knobs: Knobs, noise: float, arc: float) -> None:
    """2 % stray points; the whole profile from the crown to the widest place, over grooves that run round too."""
    rng = np.random.default_rng(1)
    clean = knobs.points(rng, 120_000, arc)
    found, own = measured(disturbed(rng, clean, noise, 0.02), rng)
    off = over_tops(own)
    assert -UNDER - noise < off.min() and off.max() < OVER
    assert -UNDER - noise < own.crown_radius - RADIUS < OVER
    assert own.profile[0, 0] == 0.0 and own.profile[-1, 0] > 0.48 * WIDTH
    assert abs(own.section_width - WIDTH) < 0.3
    assert_allclose(found.depth, knobs.depth, atol=0.2 + noise)
    x, rho = clean[:, 0], np.hypot(clean[:, 1], clean[:, 2])
    tread = np.abs(np.arctan2(x, rho - found.fit.section.center_rho)) < np.radians(65.0)
    on_top = (x / (0.5 * WIDTH)) ** 2 + ((rho - RADIUS + HALF_HEIGHT) / HALF_HEIGHT) ** 2 > 1.0 - 1e-6
    assert_allclose(found.land, on_top[tread].mean(), atol=0.05)


@pytest.mark.parametrize(("knobs", "noise", "arc"), [TREADS[3], TREADS[6]])
def test_the_crown_is_the_outermost_peak_that_scipy_finds(knobs: Knobs, noise: float, arc: float) -> None:
    """The same points about the known axle: the outermost prominent peak of their radii near the crown's middle row."""
    rng = np.random.default_rng(2)
    points = disturbed(rng, knobs.points(rng, 120_000, arc), noise, 0.02)
    _, own = measured(points, rng)
    near = points[np.abs(points[:, 0]) < 3.0]
    counts, edges = np.histogram(np.hypot(near[:, 1], near[:, 2]), np.arange(RADIUS - 30.0, RADIUS + 20.0, 0.05))
    smooth = gaussian_filter1d(counts.astype(float), 4.0)
    peak = find_peaks(smooth, prominence=0.1 * smooth.max())[0][-1]
    assert abs(own.crown_radius - 0.5 * (edges[peak] + edges[peak + 1])) < 0.3


def test_a_mean_section_would_be_too_small_and_is_told() -> None:
    """From a scan of the whole front end in any pose: crown, tread, rows, sentence and file."""
    rng = np.random.default_rng(3)
    knobs = Knobs(10.0, 0.4)
    wheel = np.concatenate([knobs.points(rng, 60_000, 200.0, -20.0), front_end(rng, 100_000)[40_000:]])
    found = align_scan(Scan(random_pose(rng).scan(disturbed(rng, wheel, 0.1, 0.02)), NOTHING))
    assert found.tread is not None
    assert_allclose([found.section.crown_radius, found.section.section_width], [RADIUS, WIDTH], atol=0.2)
    rows = dict(alignment_rows(found))
    assert rows["Tread"].startswith("10.0 mm deep, ")
    assert rows["Mean of all points"] == f"{found.tread.under:.1f} mm under the tops at the crown"
    assert found.tread.under > 4.0
    assert any("over the tops of the knobs" in warning and "too small" in warning for warning in found.warnings)
    values = json.loads(json.dumps(alignment_dict(found), allow_nan=False))
    assert values["tread"]["depth_mm"] == found.tread.depth and 0.3 < values["tread"]["land_share"] < 0.6


def test_a_plain_tire_has_no_tread_and_keeps_its_section() -> None:
    for noise in (0.0, 0.5):
        rng = np.random.default_rng(4)
        points = disturbed(rng, tire(rng, 60_000, 200.0), noise, 0.02)
        assert tread_of(points, roughly_fitted(points, rng), rng) is None


def test_what_stands_beside_a_tire_is_not_its_tops() -> None:
    """A bracket 3 mm over the crown along 40 of 360 degrees, scanned as densely as the tire: the tops stay the tops."""
    rng = np.random.default_rng(5)
    station, x = np.radians(rng.uniform(-20.0, 20.0, 6_000)), rng.uniform(-40.0, 40.0, 6_000)
    rho = RADIUS - HALF_HEIGHT * (1.0 - np.sqrt(1.0 - (x / (0.5 * WIDTH)) ** 2)) + 3.0
    bracket = np.column_stack([x, -rho * np.sin(station), rho * np.cos(station)])
    points = disturbed(rng, np.concatenate([Knobs(8.0, 0.5).points(rng, 120_000), bracket]), 0.2, 0.02)
    off = over_tops(measured(points, rng)[1])
    assert -UNDER - 0.2 < off.min() and off.max() < OVER


def test_the_first_peak_is_that_of_the_tops_beside_a_larger_floor() -> None:
    rng = np.random.default_rng(6)
    heights = np.concatenate([rng.normal(0.4, 0.2, 1500), rng.normal(-1.6, 0.2, 8500), rng.uniform(-4.0, 4.0, 100)])
    peak, sigma = first_peak(heights)
    assert_allclose([peak, sigma], [0.4, 0.2], atol=0.1)
