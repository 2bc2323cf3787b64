# SPDX-License-Identifier: GPL-3.0-or-later
"""Gaps read on the bike against a printed strip, turned into corrections of the job sheet with their doubts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, sqrt
from statistics import NormalDist
from typing import Any

import numpy as np

from ..base.arrays import Array, Mask
from ..base.errors import JobError
from ..job.job_sheet import Job, job_to_dict
from ..readings.feedback_geometry import (
    QUANTITIES,
    SPOKEN,
    GapModel,
    Place,
    candidate_places,
    check_place,
    corrected_job,
    sheet_values,
)
from ..tables.gauge_rules import FEELER_SIGMA_MM

PLAUSIBLE = {"height": 10.0, "ahead": 15.0, "tilt": 5.0, "lateral": 8.0, "crown_radius": 10.0}
"""How far a careless reading may be off, one standard deviation, mm or degrees; our judgment. A direction in which the
readings say no more than this is not determined by them."""
_KNOWN_SHARE = 0.1
"""A quantity is refused if more than this part of it (squared) lies in directions that are not determined."""
_SCALE = np.array([PLAUSIBLE[name] for name in QUANTITIES])
_ROUNDS = 20
_LONGEST_STEP = 3.0
_ALONE = 1.0 - 1e-6
"""A reading with this leverage alone settles what it settles; no other one checks it."""


@dataclass(frozen=True, eq=False)
class GapReading:
    """A gap read at a place. mm, sigma : the reading and its standard deviation."""

    place: Place
    mm: float
    sigma: float = FEELER_SIGMA_MM

    @property
    def name(self) -> str:
        return f"gap at {self.place.name}"


@dataclass(frozen=True)
class DirectReading:
    """A quantity read again by itself, such as the tilt by a level. quantity : one of QUANTITIES; mm or degrees."""

    quantity: str
    value: float
    sigma: float

    @property
    def name(self) -> str:
        return f"{self.quantity} by itself"


@dataclass(frozen=True)
class Correction:
    """One quantity: as the sheet has it, corrected, and the standard error. undetermined : the readings cannot tell it."""

    quantity: str
    sheet: float
    corrected: float
    standard_error: float
    undetermined: bool


@dataclass(frozen=True)
class Influence:
    """What one reading did to the result.

    residual : reading less model after the correction. leverage : 0 to 1, its own say in its fitted value
    cook : Cook's distance, how far the result would move without it. studentized : residual over its standard deviation
    """

    name: str
    residual: float
    leverage: float
    cook: float
    studentized: float


@dataclass(frozen=True)
class Refusal:
    """Quantities that cannot be told apart, and the reading that would do it. sentence : for the builder."""

    quantities: tuple[str, ...]
    reading: str
    sentence: str


@dataclass(frozen=True, eq=False)
class Feedback:
    """Corrections and what they rest on.

    covariance : (5, 5) float, in the order of QUANTITIES. sheet : the tables of the corrected sheet
    chi_square, freedom : weighted sum of squares after the correction, readings more than quantities found
    repeat : name of the reading to take again (largest influence), None without any to spare
    """

    corrections: tuple[Correction, ...]
    covariance: Array
    influences: tuple[Influence, ...]
    refusals: tuple[Refusal, ...]
    chi_square: float
    freedom: int
    repeat: str | None
    warnings: tuple[str, ...]
    sheet: dict[str, Any]


def feedback(job: Job, readings: Sequence[GapReading | DirectReading]) -> Feedback:
    """Corrections of mount height, ahead, tilt, lateral offset and crown radius by weighted least squares.

    job : the sheet that the gauges were printed from
    Gauss-Newton on the true geometry, in units of PLAUSIBLE, over the directions that the readings determine: those of the
    singular value decomposition along which they beat PLAUSIBLE. A quantity that has a share in the others is refused: it
    stays as in the sheet, and its standard error is that of PLAUSIBLE along them.
    Covariance, leverage and Cook's distance: Cook, Technometrics 19 (1977) 15-18; Belsley, Kuh, Welsch, Regression
    Diagnostics (1980). Standard errors hold for the stated sigmas; they are widened by the scatter where it is significantly
    larger (99 %).
    Raises JobError if there is no reading, a reading is not finite, its sigma is not over 0, it names no quantity, or its place
    says nothing for certain.
    """
    _check(job, readings)
    start = sheet_values(job)
    values, model = start.copy(), GapModel(job)
    for _ in range(_ROUNDS):
        residual, matrix = _weighted(model, values, readings)
        say = _say(matrix)
        step = say.known.T @ ((say.fitted.T @ residual) / say.strength)
        step *= min(1.0, _LONGEST_STEP / max(float(np.abs(step).max(initial=0.0)), 1e-300))
        values = values + step * _SCALE
        if np.abs(step).max(initial=0.0) < 1e-9:
            break
    residual, matrix = _weighted(model, values, readings)
    return _result(model, readings, start, values, residual, _say(matrix))


@dataclass(frozen=True, eq=False)
class _Say:
    """What readings determine, by the singular value decomposition of their matrix in units of PLAUSIBLE.

    known, unknown : unit rows (k, 5), (5 - k, 5); strength : (k,) singular values; fitted : (n, k) left singular columns
    """

    known: Array
    unknown: Array
    strength: Array
    fitted: Array

    @property
    def determined(self) -> Mask:
        """(5,) bool, quantities with hardly a share in the unknown directions."""
        return np.asarray((self.unknown**2).sum(axis=0) <= _KNOWN_SHARE)


def _say(matrix: Array) -> _Say:
    left, strength, right = np.linalg.svd(matrix, full_matrices=True)
    count = int((strength > 1.0).sum())
    return _Say(right[:count], right[count:], strength[:count], left[:, :count])


def _result(
    model: GapModel, readings: Sequence[GapReading | DirectReading], start: Array, values: Array, residual: Array, say: _Say
) -> Feedback:
    freedom = len(readings) - len(say.known)
    chi_square = float(residual @ residual)
    wide = chi_square / freedom if freedom > 0 and chi_square > _chi_square_limit(freedom) else 1.0
    scaled = say.known.T @ ((wide / say.strength**2)[:, None] * say.known) + say.unknown.T @ say.unknown
    covariance = scaled * np.outer(_SCALE, _SCALE)
    errors = np.sqrt(np.diag(covariance))
    corrected = np.where(say.determined, values, start)
    influences = _influences(readings, residual, say.fitted, wide)
    spare = [influence for influence in influences if influence.leverage < _ALONE]
    return Feedback(
        corrections=tuple(
            Correction(name, float(start[j]), float(corrected[j]), float(errors[j]), not say.determined[j])
            for j, name in enumerate(QUANTITIES)
        ),
        covariance=covariance,
        influences=influences,
        refusals=_refusals(model, values, say.unknown),
        chi_square=chi_square,
        freedom=freedom,
        repeat=max(spare, key=lambda influence: influence.cook).name if spare and freedom > 0 else None,
        warnings=_warnings(influences, chi_square, freedom),
        sheet=_corrected_sheet(model.job, np.round(corrected, 2), say.determined),
    )


def _check(job: Job, readings: Sequence[GapReading | DirectReading]) -> None:
    if not readings:
        raise JobError("readings", "none; read at least one gap")
    for reading in readings:
        value = reading.mm if isinstance(reading, GapReading) else reading.value
        if not isfinite(value) or not (isfinite(reading.sigma) and reading.sigma > 0.0):
            raise JobError(reading.name, f"{value:g} with sigma {reading.sigma:g}; allowed are finite numbers, sigma over 0")
        if isinstance(reading, DirectReading) and reading.quantity not in QUANTITIES:
            raise JobError(reading.name, f"unknown quantity; allowed is {', '.join(QUANTITIES)}")
        if isinstance(reading, GapReading):
            check_place(job, reading.place)


def _weighted(model: GapModel, values: Array, readings: Sequence[GapReading | DirectReading]) -> tuple[Array, Array]:
    """Residuals over sigma (n,), and the matrix (n, 5) of their change with each quantity in units of PLAUSIBLE."""
    gaps = [i for i, reading in enumerate(readings) if isinstance(reading, GapReading)]
    sigma = np.array([reading.sigma for reading in readings])
    residual, matrix = np.zeros(len(readings)), np.zeros((len(readings), len(QUANTITIES)))
    if gaps:
        positions = np.array([reading.place.position for reading in readings if isinstance(reading, GapReading)])
        read = np.array([reading.mm for reading in readings if isinstance(reading, GapReading)])
        residual[gaps] = read - model.gaps(values, positions)
        matrix[gaps] = model.slopes(values, positions)
    for i, reading in enumerate(readings):
        if isinstance(reading, DirectReading):
            at = QUANTITIES.index(reading.quantity)
            residual[i] = reading.value - values[at]
            matrix[i, at] = 1.0
    return residual / sigma, matrix / sigma[:, None] * _SCALE


def _influences(
    readings: Sequence[GapReading | DirectReading], residual: Array, fitted: Array, wide: float
) -> tuple[Influence, ...]:
    leverage = (fitted**2).sum(axis=1)
    count, made = max(fitted.shape[1], 1), []
    for reading, off, own in zip(readings, residual.tolist(), leverage.tolist(), strict=True):
        student = off / sqrt(wide * (1.0 - own)) if own < _ALONE else 0.0
        cook = student**2 * own / (1.0 - own) / count if own < _ALONE else 0.0
        made.append(Influence(reading.name, off * reading.sigma, own, cook, student))
    return tuple(made)


def _chi_square_limit(freedom: int) -> float:
    """99 % quantile of chi-square. Wilson and Hilferty, Proc. Natl. Acad. Sci. 17 (1931) 684; within 2 % from 1 up."""
    z = NormalDist().inv_cdf(0.99)
    part = 2.0 / (9.0 * freedom)
    return float(freedom * (1.0 - part + z * sqrt(part)) ** 3)


def _warnings(influences: Sequence[Influence], chi_square: float, freedom: int) -> tuple[str, ...]:
    warnings = []
    if freedom == 0:
        warnings.append("there are no more readings than quantities: nothing checks them against each other; take more.")
    if freedom > 0 and chi_square > _chi_square_limit(freedom):
        warnings.append(
            "the readings contradict each other more than their sigmas explain: a reading is wrong, the strip is bent, or the "
            "tire's profile is not as in the sheet. Standard errors are widened for it."
        )
    limit = NormalDist().inv_cdf(1.0 - 0.025 / max(len(influences), 1))
    for influence in influences:
        if abs(influence.studentized) > limit:
            warnings.append(f"{influence.name} is {influence.residual:+.2f} mm off the rest: take it again.")
    return tuple(warnings)


def _refusals(model: GapModel, values: Array, unknown: Array) -> tuple[Refusal, ...]:
    """One refusal for each direction that is not determined, with the reading that would settle it best."""
    refusals = []
    remaining = unknown
    rows, names = _candidates(model, values) if len(unknown) else (unknown, [])
    while len(remaining):
        gain = ((rows @ remaining.T) ** 2).sum(axis=1)
        best = int(np.argmax(gain))
        direction = remaining.T @ (remaining @ rows[best])
        direction /= np.linalg.norm(direction)
        mixed = tuple(name for name, part in zip(QUANTITIES, direction, strict=True) if part**2 > 0.02)
        spoken = " and ".join(SPOKEN[name] for name in mixed)
        how = f"{spoken} cannot be told apart" if len(mixed) > 1 else f"{spoken} is not determined"
        refusals.append(Refusal(mixed, names[best], f"{how} by these readings; left as in the sheet. It takes {names[best]}."))
        rest = remaining - np.outer(remaining @ direction, direction)
        _, size, basis = np.linalg.svd(rest, full_matrices=False)
        remaining = basis[size > 1e-6]
    return tuple(refusals)


def _candidates(model: GapModel, values: Array) -> tuple[Array, list[str]]:
    """Rows of readings that could be taken, weighted, in units of PLAUSIBLE, and their names."""
    there, job = corrected_job(model.job, values), model.job
    places = [place for place in candidate_places(there, max(job.clearance.gap, 10.0)) if _usable(job, place)]
    rows, names = [], []
    if places:
        slopes = model.slopes(values, np.array([place.position for place in places])) / FEELER_SIGMA_MM * _SCALE
        rows += list(slopes)
        names += [f"a strip's gap at {place.name}" for place in places]
    for quantity, sigma, name in _BY_ITSELF:
        row = np.zeros(len(QUANTITIES))
        row[QUANTITIES.index(quantity)] = PLAUSIBLE[quantity] / sigma
        rows.append(row)
        names.append(name)
    return np.array(rows), names


def _usable(job: Job, place: Place) -> bool:
    try:
        check_place(job, place)
    except JobError:
        return False
    return True


_BY_ITSELF = (
    ("height", 0.5, "the tape from the mount face to the tire again"),
    ("ahead", 1.0, "a plumb line from the pattern center, its distance ahead of the axle"),
    ("tilt", 0.3, "a level with angles on the mount face"),
    ("lateral", 1.0, "the distance of the pattern center from the middle of the tread"),
    ("crown_radius", 0.4, "a tape round the tire (circumference over 2 pi)"),
)
"""Readings of one quantity alone: with what standard deviation, our judgment, and how they are taken."""


def _corrected_sheet(job: Job, values: Array, determined: Mask) -> dict[str, Any]:
    """The sheet with the determined quantities replaced, rounded to 0.01; all other keys as they were."""
    sheet = job_to_dict(job)
    there = corrected_job(job, values)
    after = job_to_dict(there)
    for j, key in enumerate(("height", "ahead", "tilt")):
        if determined[j]:
            sheet["mount"][key] = after["mount"][key]
    if determined[3]:
        sheet["mount"]["bolts"] = [[round(x, 2), a] for x, a in there.mount.bolts]
    if determined[4]:
        sheet["tire"]["measured_radius"] = after["tire"]["measured_radius"]
    return sheet
