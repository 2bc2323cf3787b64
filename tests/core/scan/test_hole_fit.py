# SPDX-License-Identifier: GPL-3.0-or-later
"""Bolt holes of made-up scans: size, place and stated doubt against the truth, patterns, and the thread that they are for.

FENDERWRIGHT_HOLE_TRIALS=200 runs the whole study of the doubt; without it a tenth of it runs.
"""

from __future__ import annotations

import os

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.stats import chi2, norm

from addon.core.scan.holes.hole_circles import HoleCircle, hole_circles
from addon.core.scan.holes.hole_doubt import EDGE_INFORMATION
from addon.core.scan.holes.hole_fit import fit_hole
from addon.core.scan.holes.hole_likelihood import normal_cdf
from addon.core.scan.holes.hole_pattern import HoleSize, chi_squared_limit, hole_pattern
from addon.core.scan.holes.thread_choice import possible_threads, thread_choice
from addon.core.tables.fasteners import CLEARANCE_HOLE

from .hole_scenes import Sheet, four_holes

TRIALS = int(os.environ.get("FENDERWRIGHT_HOLE_TRIALS", "20"))
FULL = TRIALS >= 200

STUDY = [
    (6.6, Sheet(0.15, 2.0)),
    (6.6, Sheet(0.15, 2.0, 4.0, "all", True)),
    (6.6, Sheet(0.15, 2.0, 4.0, "half")),
    (6.6, Sheet(0.0, 6.0)),
    (11.0, Sheet(0.2, 2.0, 5.0, "half", True)),
    (5.5, Sheet(0.15, 2.0, 2.0, "all", True, 0.03)),
]
REST = [
    (6.6, Sheet(0.15, 2.0, 1.0, "all", True)),
    (6.6, Sheet(0.15, 2.0, 4.0, "shade")),
    (6.6, Sheet(0.1, 20.0, 4.0, "all", True)),
    (6.6, Sheet(0.0, 2.0, 4.0, "all")),
    (5.5, Sheet(0.1, 4.0)),
    (4.5, Sheet(0.05, 6.0, 2.0, "half")),
    (9.0, Sheet(0.3, 2.0, 2.0, "all", True)),
    (9.0, Sheet(0.15, 1.0, 6.0, "shade", True)),
    (11.0, Sheet(0.2, 2.0)),
    (13.5, Sheet(0.05, 0.5, 4.0, "half", True)),
]


@pytest.mark.parametrize(("diameter", "sheet"), [*STUDY, *REST] if FULL else STUDY)
def test_the_stated_doubt_of_a_hole_is_true(diameter: float, sheet: Sheet) -> None:
    """Errors in stated standard deviations: root mean square near one, nearly all within three, no bias beyond half of one."""
    off, place, missed = [], [], 0
    for seed in range(TRIALS):
        rng = np.random.default_rng(seed)
        points = sheet.points(rng, [(0.2, -0.1, diameter)], (2.2 * diameter, 2.2 * diameter))
        start = np.array([0.2, -0.1]) + rng.normal(0.0, 0.2, 2)
        fit = fit_hole(points, start, 0.5 * diameter * rng.uniform(0.8, 1.1), max(sheet.noise, 1e-3))
        if fit is None:
            missed += 1
            continue
        off.append((fit.radius - 0.5 * diameter) / np.sqrt(fit.covariance[2, 2]))
        place.append(np.hypot(*(fit.center - [0.2, -0.1])) / np.sqrt(np.trace(fit.covariance[:2, :2])))
    slack = 1.0 + 2.0 / np.sqrt(2.0 * TRIALS)
    assert missed <= 0.02 * TRIALS
    for errors in (np.array(off), np.array(place)):
        assert 0.6 / slack < np.sqrt(np.mean(errors**2)) < 1.25 * slack
        assert np.mean(np.abs(errors) < 3.0) >= (0.97 if FULL else 0.9)
        assert np.abs(errors).max() < 5.0


@pytest.mark.parametrize(
    ("diameter", "thread", "sheet"),
    [
        (6.6, "M6", Sheet(0.15, 2.0)),
        (6.6, "M6", Sheet(0.15, 2.0, 4.0, "all", True)),
        (5.5, "M5", Sheet(0.15, 2.0, 3.0, "half", True)),
        (9.0, "M8", Sheet(0.15, 2.0, 4.0, "shade")),
        (11.0, "M10", Sheet(0.2, 2.0, 4.0, "half", True)),
    ],
)
def test_four_holes_give_their_thread_or_ask(diameter: float, thread: str, sheet: Sheet) -> None:
    """All four found, in a rectangle of 50 by 30 mm; size, places and spans within four stated standard deviations; never another thread."""
    filled, errors = 0, []
    trials = max(TRIALS // 5, 3)
    for seed in range(trials):
        holes = hole_circles(
            sheet.points(np.random.default_rng(seed), four_holes(diameter), (40.0, 30.0)), 3.0, 30.0, sheet.noise
        )
        pattern = hole_pattern(holes)
        choice = thread_choice(pattern.sizes)
        assert len(holes) == 4 and choice is not None and thread in choice.candidates
        filled += choice.thread == thread
        assert choice.thread in (thread, None) and (choice.ask is None) == (choice.thread is not None)
        if pattern.layout == "rectangle":
            assert_allclose(np.sort(pattern.spans), [30.0, 50.0], atol=0.5)
        for hole in pattern.holes:
            truth = min(four_holes(diameter), key=lambda one, hole=hole: np.hypot(*(hole.center - one[:2])))
            errors.append(
                [(hole.diameter - diameter) / hole.diameter_sigma, np.hypot(*(hole.center - truth[:2])) / hole.center_sigma]
            )
    assert filled >= 0.8 * trials
    assert np.abs(errors).max() < 5.0
    assert np.sqrt(np.mean(np.square(errors), axis=0))[0] < 1.6


def test_pooled_sizes_are_better_than_single_ones() -> None:
    single, pooled = [], []
    for seed in range(5):
        holes = hole_circles(Sheet(0.15, 2.0).points(np.random.default_rng(seed), four_holes(6.6), (40.0, 30.0)), 3.0, 30.0, 0.15)
        single += [hole.diameter - 6.6 for hole in holes]
        pooled.append(hole_pattern(holes).sizes[0].diameter - 6.6)
    assert np.sqrt(np.mean(np.square(pooled))) < 0.75 * np.sqrt(np.mean(np.square(single)))


@pytest.mark.parametrize("sheet", [Sheet(0.05, 8.0, 5.0, "all", True, bevel=0.8), Sheet(0.15, 2.0, 4.0, "all", True, bevel=1.0)])
def test_a_bevel_does_not_widen_the_hole(sheet: Sheet) -> None:
    """The rim is 1.6 and 2 mm wider than the wall; the thread's choice allows for 0.1 mm."""
    for seed in range(4):
        points = sheet.points(np.random.default_rng(seed), [(0.0, 0.0, 6.6)], (15.0, 15.0))
        fit = fit_hole(points, np.array([0.1, 0.1]), 3.5, sheet.noise)
        assert fit is not None
        assert_allclose(2.0 * fit.radius, 6.6, atol=0.1)


def test_a_hole_of_facets_is_as_doubtful_as_they_stand_off_the_circle() -> None:
    """A wall of 19 flats without noise, corners at 6.3 mm: the mean of the flats is within four stated deviations of the corners."""
    rng = np.random.default_rng(7)
    face = rng.uniform(-15.0, 15.0, (6000, 2))
    turn = np.pi / 19.0
    flats = np.cos(turn) / np.cos((np.arctan2(face[:, 1], face[:, 0]) % (2.0 * turn)) - turn)
    face = face[np.hypot(*face.T) > 6.3 * flats]
    around = rng.uniform(0.0, 2.0 * np.pi, 3000)
    radius = 6.3 * np.cos(turn) / np.cos(around % (2.0 * turn) - turn)
    wall = np.column_stack([radius * np.cos(around), radius * np.sin(around), -5.0 * rng.random(3000)])
    points = np.concatenate([np.column_stack([face, np.zeros(len(face))]), wall])
    fit = fit_hole(points, np.array([0.2, 0.0]), 6.0, 1e-3)
    assert fit is not None and 6.2 < fit.radius < 6.3
    assert 6.3 - fit.radius < 4.0 * np.sqrt(fit.covariance[2, 2]) < 0.3


def test_an_even_face_has_no_holes() -> None:
    for seed in (0, 1, 2, 22):  # the last has a gap of 3.5 mm by chance
        points = Sheet(0.15, 2.0, 4.0, "none", True).points(np.random.default_rng(seed), [], (40.0, 30.0))
        assert hole_circles(points, 3.0, 30.0, 0.15) == []


def circle(x: float, y: float, diameter: float = 6.6, sigma: float = 0.05) -> HoleCircle:
    return HoleCircle(np.array([x, y]), diameter, sigma, sigma)


def test_layouts_are_known_in_any_turn_and_rejected_when_the_data_speak_against_them() -> None:
    turn = 2.0 * np.pi * np.arange(5) / 5 + 0.3
    ring = hole_pattern([circle(7.0 + 20.0 * np.cos(t), -3.0 + 20.0 * np.sin(t)) for t in turn[[2, 0, 4, 1, 3]]])
    assert ring.layout == "pitch circle"
    assert_allclose(ring.spans, [40.0])
    row = hole_pattern([circle(3.0 * k, 4.0 * k) for k in (2, 0, 1)])
    assert row.layout == "row"
    assert_allclose(row.spans, [5.0])
    axes = np.array([[np.cos(0.4), np.sin(0.4)], [-np.sin(0.4), np.cos(0.4)]])
    corners = np.array([[25.0, 10.0], [-25.0, 10.0], [25.0, -10.0], [-25.0, -10.0]]) @ axes
    square = hole_pattern([circle(*corner) for corner in corners])
    assert square.layout == "rectangle"
    assert_allclose(sorted(square.spans), [20.0, 50.0])
    assert_allclose([hole.center for hole in square.holes], corners, atol=1e-9)
    moved = corners + [[1.0, 0.0], [0.0, 0.0], [0.0, 0.0], [0.0, 0.0]]
    skew = hole_pattern([circle(*corner) for corner in moved])
    assert skew.layout is None
    assert_allclose([hole.center for hole in skew.holes], moved, atol=0.0)
    assert hole_pattern([circle(0.0, 0.0), circle(9.0, 1.0)]).layout is None
    assert hole_pattern([]).sizes == ()


def test_a_regular_pattern_pools_places() -> None:
    """Noisy corners of a rectangle: pooled places are nearer the truth than single ones, and inside their stated doubt."""
    rng = np.random.default_rng(1)
    truth = np.array([[25.0, 10.0], [-25.0, 10.0], [25.0, -10.0], [-25.0, -10.0]])
    single, pooled, stated = [], [], []
    for _ in range(200):
        seen = truth + rng.normal(0.0, 0.1, truth.shape)
        found = hole_pattern([circle(*place, sigma=0.1) for place in seen])
        if found.layout is None:
            continue
        single.append(((seen - truth) ** 2).sum())
        pooled.append(((np.array([hole.center for hole in found.holes]) - truth) ** 2).sum())
        stated.append(2.0 * sum(hole.center_sigma**2 for hole in found.holes))
    assert len(pooled) > 190
    assert np.mean(pooled) < 0.8 * np.mean(single)
    assert np.mean(pooled) < np.mean(stated) < 1.6 * np.mean(pooled)


def test_two_sizes_are_told_apart_and_asked_for() -> None:
    found = hole_pattern([circle(0.0, 0.0, 5.5), circle(30.0, 0.0, 6.6), circle(0.0, 20.0, 5.52), circle(30.0, 20.0, 6.57)])
    assert [size.members for size in found.sizes] == [(0, 2), (3, 1)] or [set(size.members) for size in found.sizes] == [
        {0, 2},
        {1, 3},
    ]
    choice = thread_choice(found.sizes)
    assert choice is not None and choice.thread is None and set(choice.candidates) == {"M5", "M6"}
    assert choice.ask is not None and "2 of 5.5" in choice.ask and "2 of 6.6" in choice.ask


@pytest.mark.parametrize(
    ("diameter", "sigma", "threads"),
    [
        (6.6, 0.05, ["M6"]),
        (6.2, 0.1, ["M6", "M5"]),
        (5.5, 0.05, ["M5"]),
        (7.8, 0.05, []),
        (10.4, 0.1, ["M10", "M8"]),
        (6.6, 0.5, ["M6", "M5"]),
    ],
)
def test_a_thread_stands_only_where_its_neighbors_are_excluded(diameter: float, sigma: float, threads: list[str]) -> None:
    assert set(possible_threads(diameter, sigma)) == set(threads)
    choice = thread_choice((HoleSize(diameter, sigma, (0, 1)),))
    assert choice is not None
    if len(threads) == 1:
        assert choice.thread == threads[0] and choice.ask is None
        return
    assert choice.thread is None and choice.fit is None
    assert choice.ask is not None and all(thread in choice.ask for thread in threads or ["M6", "M8"])
    assert set(choice.candidates) == set(threads or ["M6", "M8"])


def test_every_hole_of_the_standard_is_for_its_own_thread() -> None:
    for thread, fits in CLEARANCE_HOLE.items():
        for fit, hole in fits.items():
            assert possible_threads(hole, 0.0)[0] == thread, (thread, fit)


def test_figures_of_the_normal_law_against_scipy() -> None:
    x = np.linspace(-8.0, 8.0, 2001)
    assert_allclose(normal_cdf(x), norm.cdf(x), atol=1.5e-7)
    assert_allclose(quad(lambda u: norm.pdf(u) ** 2 / norm.cdf(u), -30.0, 8.0)[0], EDGE_INFORMATION, rtol=1e-4)
    for freedom in (1, 2, 3, 4, 6, 12):
        assert_allclose(chi_squared_limit(freedom), chi2.ppf(0.99, freedom), rtol=0.012)
