# SPDX-License-Identifier: GPL-3.0-or-later
"""Several readings of the same thing: mean, scatter, doubt of the mean, and the reading that stands apart."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import hypot, isfinite, sqrt
from statistics import NormalDist, mean, stdev

from ..base.errors import JobError
from ..base.student_t import student_t_quantile
from ..tables.hand_readings import ALPHA, DIVISION_MM, ENOUGH_READINGS, SIGMA_MM


@dataclass(frozen=True)
class StrayReading:
    """A reading that stands apart from the others. number : its place in the list, from 1; off : value less their mean."""

    number: int
    value: float
    off: float


@dataclass(frozen=True)
class CombinedReading:
    """What several readings of one thing say together; in the unit of the readings.

    standard_deviation : of a single reading, None for one reading
    standard_error : of the mean, from scatter alone
    sigma : standard deviation to carry on for the mean: scatter and the division of the scale together
    stray : the reading to take again, None if all agree; it is not left out, that is for the builder to do
    """

    name: str
    count: int
    mean: float
    standard_deviation: float | None
    standard_error: float
    sigma: float
    stray: StrayReading | None
    sentence: str


def combine_readings(
    name: str, values: Sequence[float], *, sigma: float = SIGMA_MM, division: float = DIVISION_MM, unit: str = "mm"
) -> CombinedReading:
    """Average of several readings of the same thing, with its uncertainty.

    values : one reading or more, all in one unit
    sigma : standard deviation of a single reading as far as known beforehand, in that unit
    division : smallest division of the scale, which averaging does not make finer: a uniform error of +- half of it
    Scatter of the mean: s / sqrt(n), where s is the larger of sigma and the standard deviation of the readings; from
    ENOUGH_READINGS on the readings' own. Evaluation of type A and B: JCGM 100:2008 (GUM), 4.2 and 4.3.7.
    Raises JobError(name, ...) if there is no reading, one is not finite, or sigma or division is negative.
    """
    if len(values) == 0:
        raise JobError(name, "no reading; take at least one")
    if not all(isfinite(value) for value in values):
        raise JobError(name, f"the readings {', '.join(f'{value:g}' for value in values)} hold one that is no number")
    if not (sigma >= 0.0 and division >= 0.0):
        raise JobError(name, f"sigma {sigma:g} and division {division:g} must not be negative")
    count, middle = len(values), mean(values)
    own = stdev(values) if count > 1 else None
    single = sigma if own is None else own if count >= ENOUGH_READINGS else max(own, sigma)
    error = single / sqrt(count)
    stray = stray_reading(values, sigma)
    return CombinedReading(
        name=name,
        count=count,
        mean=middle,
        standard_deviation=own,
        standard_error=error,
        sigma=hypot(error, division / sqrt(12.0)),
        stray=stray,
        sentence=_sentence(name, values, middle, own, stray, sigma, unit),
    )


def stray_reading(values: Sequence[float], sigma: float) -> StrayReading | None:
    """The reading that stands apart from the others, at the level ALPHA over all readings; None if there is none.

    Two tests, either is enough: Grubbs' test on the readings alone (Grubbs, Technometrics 11 (1969) 1-21; needs three), and
    the same deviation against the standard deviation sigma known beforehand (normal, Bonferroni over the readings). Two
    readings that disagree do not tell which one is wrong: no stray reading then; see CombinedReading.sentence.
    """
    count = len(values)
    if count < 3:
        return None
    middle = mean(values)
    at = max(range(count), key=lambda i: abs(values[i] - middle))
    off = values[at] - mean([*values[:at], *values[at + 1 :]])
    if abs(off) <= 1e-9 * max(abs(middle), 1.0):
        return None
    by_scatter = abs(values[at] - middle) / stdev(values) > grubbs_limit(count)
    # A reading less the mean of the others has the variance sigma^2 (1 + 1 / (n - 1)).
    limit = NormalDist().inv_cdf(1.0 - ALPHA / (2.0 * count)) * sigma * sqrt(count / (count - 1.0))
    # Tapes round: two equal readings of three leave no scatter, so a stray must also stand out of the known doubt.
    if (by_scatter and abs(off) > 2.0 * sigma) or (sigma > 0.0 and abs(off) > limit):
        return StrayReading(at + 1, values[at], off)
    return None


def grubbs_limit(count: int) -> float:
    """Largest |value - mean| / standard deviation of count readings that chance explains at ALPHA, two-sided. count >= 3."""
    t = student_t_quantile(ALPHA / (2.0 * count), count - 2)
    return (count - 1.0) / sqrt(count) * sqrt(t * t / (count - 2.0 + t * t))


def sheet_sigma(readings: Iterable[CombinedReading]) -> float:
    """The value for tire.sigma: the largest sigma of the readings that set the gap. Raises ValueError if there is none."""
    return max(reading.sigma for reading in readings)


def _sentence(
    name: str,
    values: Sequence[float],
    middle: float,
    own: float | None,
    stray: StrayReading | None,
    sigma: float,
    unit: str,
) -> str:
    if own is None:
        return f"{name}: one reading of {middle:g} {unit}; take two more, so that a slip shows."
    what = f"{name}: {len(values)} readings, mean {middle:.2f} {unit}, standard deviation {own:.2f} {unit}"
    if stray is not None:
        apart = f"reading {stray.number} ({stray.value:g} {unit}) lies {stray.off:+.2f} {unit} from the others"
        return f"{what}; {apart}: take it again."
    between = abs(values[0] - values[-1])
    if len(values) == 2 and sigma > 0.0 and between > NormalDist().inv_cdf(1.0 - 0.5 * ALPHA) * sqrt(2.0) * sigma:
        return f"{what}; the two lie {between:.2f} {unit} apart, more than tape and eye explain: take a third."
    return f"{what}."
