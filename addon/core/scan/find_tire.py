# SPDX-License-Identifier: GPL-3.0-or-later
"""The tire in a scan: of all that turns about an axis, what fits best and is largest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..arrays import Array
from ..errors import JobError
from .revolution_fit import RevolutionFit, fit_revolution
from .revolution_search import revolution_candidates
from .scan_data import random_rows
from .surface_samples import surface_samples
from .tire_region import TireRegion, tire_region

TRIAL_POINTS, TRIAL_STEPS, TRIALS = 6_000, 15, 6
COUNTED_POINTS = 100_000
CLOSE = 1e-3
"""Of the crown's radius: points this close to a trial surface count for it."""
SAME_ANGLE_DEG, SAME_DISTANCE = 5.0, 0.1
"""Axes closer than this (distance over the crown's radius) are one answer, not two."""


@dataclass(frozen=True, eq=False)
class TireFound:
    """The fit, and a confidence of 0 to 1: one minus the support of the next best, different axis over the support of
    this one; support is the number of points close to the surface times its radius."""

    fit: RevolutionFit
    confidence: float


@dataclass(frozen=True, eq=False)
class _Trial:
    fit: RevolutionFit
    support: float


def find_tire(points: Array, rng: np.random.Generator) -> TireFound:
    """The largest surface of revolution in points, axis and section fitted.

    points : (n, 3) float, mm, of the whole scan or of the region that the builder marked as tire
    Raises JobError, in the words of the step that failed, if there is none.
    """
    samples = surface_samples(random_rows(points, 400_000, rng))
    counted = random_rows(points, COUNTED_POINTS, rng)
    trials: list[_Trial] = []
    failure: JobError | None = None
    for candidate in revolution_candidates(samples, rng)[:TRIALS]:
        try:
            fit = fit_revolution(points, tire_region(samples, candidate), rng, TRIAL_POINTS, TRIAL_STEPS)
        except JobError as error:
            failure = failure or error
            continue
        trials.append(_Trial(fit, _support(fit, counted)))
    if not trials:
        raise failure or JobError("scan.tire", "nothing in the scan turns about an axis")
    trials.sort(key=lambda trial: -trial.support)
    best = trials[0]
    others = [trial.support for trial in trials[1:] if _differs(best.fit, trial.fit)]
    region = TireRegion(best.fit.axis, best.fit.crown_radius, best.fit.section)
    return TireFound(fit_revolution(points, region, rng), 1.0 - max(others, default=0.0) / max(best.support, 1e-9))


def _support(fit: RevolutionFit, points: Array) -> float:
    rho, along = fit.axis.meridian(points)
    _, angle = fit.section.polar(rho, along)
    close = np.abs(fit.section.distance(rho, along)[0]) < CLOSE * fit.crown_radius
    inside = close & (angle > fit.section.start) & (angle < fit.section.end)
    return float(np.count_nonzero(inside)) * fit.crown_radius


def _differs(one: RevolutionFit, other: RevolutionFit) -> bool:
    far = other.axis.distance_to(one.axis.point) > SAME_DISTANCE * one.crown_radius
    return far or one.axis.angle_to_deg(other.axis) > SAME_ANGLE_DEG
