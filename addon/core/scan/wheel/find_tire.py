# SPDX-License-Identifier: GPL-3.0-or-later
"""The tire in a scan: of all that turns about an axis, what fits best and is largest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array
from ...base.errors import JobError
from ..data.scan_data import random_rows, robust_extent
from ..data.surface_samples import SurfaceSamples, surface_samples
from .revolution_fit import FIT_POINTS, RevolutionFit, fit_revolution
from .revolution_search import revolution_candidates
from .tire_region import region_of, tire_regions

SAMPLED_POINTS = 400_000
TRIAL_POINTS, TRIAL_STEPS, TRIALS = 6_000, 20, 8
COUNTED_POINTS = 100_000
CLOSE, ROUGHLY_CLOSE = 5e-4, 5e-3
"""Of the scan's extent: points this close to a trial surface count for it; marked points this close lie on it."""
FULL_RADIUS = 0.5
"""Of the scan's extent; the radius up to which a larger wheel is preferred to one with more points."""
SAME_ANGLE_DEG, SAME_DISTANCE = 5.0, 0.1
"""Axes closer than this (distance over the crown's radius) are one answer, not two."""
SMOOTH = 1e-3
"""Of the crown's radius: points of a tire scatter less about its surface, 0.3 mm at 300 mm."""
ROUNDS, SETTLED = 4, 0.005
"""Fits at most, and change of the crown's radius, as share of it, from which no further one is needed."""
CONTENDER = 0.7
"""Share of the best support from which a trial is fitted in full before one is chosen."""
MARKED_SHARE = 0.5
"""Share of the points marked as tire that must lie on the surface; then no other axis is looked for in them."""


@dataclass(frozen=True, eq=False)
class TireFound:
    """The fit, and a confidence of 0 to 1: one minus the support of the next best, different axis over the support of
    this one, and less for a surface from which the points stray more than SMOOTH; support is the number of points close to the surface times its radius (up to half the scan's extent)."""

    fit: RevolutionFit
    confidence: float


@dataclass(frozen=True, eq=False)
class _Trial:
    fit: RevolutionFit
    support: float
    marked: float


def find_tire(points: Array, samples: SurfaceSamples, marked: Array | None, rng: np.random.Generator) -> TireFound:
    """The largest surface of revolution in points, axis and section fitted.

    points : (n, 3) float, mm, of the whole scan; samples : of the same; marked : (m, 3) those that the builder marked as
        tire. Marked points decide between axes; the fit takes all points of the tire, marked or not
    Raises JobError, in the words of the step that failed, if there is none.
    """
    counted = random_rows(points, COUNTED_POINTS, rng)
    extent = robust_extent(counted)[1]
    some = None if marked is None else random_rows(marked, COUNTED_POINTS // 10, rng)
    trials, failure = _trials(points, samples, counted, extent, some, rng)
    if marked is not None and (not trials or trials[0].marked < MARKED_SHARE):
        own = surface_samples(random_rows(marked, SAMPLED_POINTS, rng))
        more, own_failure = _trials(points, own, counted, extent, some, rng)
        trials = sorted([*trials, *more], key=lambda trial: -trial.support)
        failure = own_failure or failure
    if not trials or trials[0].support <= 0.0:
        raise failure or JobError("scan.tire", "nothing in the scan turns about an axis, mark the tire")
    best = trials[0]
    others = [trial.support for trial in trials[1:] if _differs(best.fit, trial.fit)]
    contenders = _unlike([trial.fit for trial in trials if trial.support > CONTENDER * best.support])
    if len(contenders) > 1:
        contenders = [_recentered(points, fit, rng, TRIAL_POINTS) for fit in contenders]
        contenders.sort(key=lambda one: -_close_share(one, counted, CLOSE * extent))
    fit = _recentered(points, contenders[0], rng)
    smooth = min(1.0, SMOOTH * fit.crown_radius / max(fit.sigma, 1e-12))
    return TireFound(fit, smooth * (1.0 - max(others, default=0.0) / best.support))


def _unlike(fits: list[RevolutionFit]) -> list[RevolutionFit]:
    """The first three fits whose crown radii differ; on a short arc, quick fits of one tire may end far apart."""
    kept: list[RevolutionFit] = []
    for fit in fits:
        if all(abs(fit.crown_radius - old.crown_radius) > 4.0 * SETTLED * fit.crown_radius for old in kept):
            kept.append(fit)
    return kept[:3]


def _recentered(points: Array, fit: RevolutionFit, rng: np.random.Generator, count: int = FIT_POINTS) -> RevolutionFit:
    """The settled fit, with its section's center and ends set anew while the axis still moves much."""
    for _ in range(ROUNDS):
        before = fit.crown_radius
        fit = fit_revolution(points, region_of(fit.axis, *fit.axis.meridian(fit.points)), rng, count)
        if abs(fit.crown_radius - before) < SETTLED * before:
            break
    return fit


def _trials(
    points: Array, samples: SurfaceSamples, counted: Array, extent: float, marked: Array | None, rng: np.random.Generator
) -> tuple[list[_Trial], JobError | None]:
    """Quick fits from the best candidates, most support first, and the first failure."""
    trials: list[_Trial] = []
    failure: JobError | None = None
    try:
        candidates = revolution_candidates(samples, rng)[:TRIALS]
    except JobError as error:
        return [], error
    for candidate in candidates:
        try:
            regions = tire_regions(samples, candidate)
        except JobError as error:
            failure = failure or error
            continue
        for region in regions:
            try:
                fit = fit_revolution(points, region, rng, TRIAL_POINTS, TRIAL_STEPS)
            except JobError as error:
                failure = failure or error
                continue
            on_it = 1.0 if marked is None else _close_share(fit, marked, ROUGHLY_CLOSE * extent)
            lever = min(fit.crown_radius, FULL_RADIUS * extent)
            support = _close_share(fit, counted, CLOSE * extent) * len(counted) * lever * on_it**2
            trials.append(_Trial(fit, support, on_it))
    return sorted(trials, key=lambda trial: -trial.support), failure


def _close_share(fit: RevolutionFit, points: Array, reach: float) -> float:
    rho, along = fit.axis.meridian(points)
    _, angle = fit.section.polar(rho, along)
    close = np.abs(fit.section.distance(rho, along)[0]) < reach
    return float(np.mean(close & (angle > fit.section.start) & (angle < fit.section.end)))


def _differs(one: RevolutionFit, other: RevolutionFit) -> bool:
    far = other.axis.distance_to(one.axis.point) > SAME_DISTANCE * one.crown_radius
    return far or one.axis.angle_to_deg(other.axis) > SAME_ANGLE_DEG
