# SPDX-License-Identifier: GPL-3.0-or-later
"""Gaps that were read against the sheet: the corrections, and how they are told."""

from __future__ import annotations

from typing import Any

from ...core.base.errors import JobError
from ...core.gauges.feedback import Feedback, feedback
from ...core.gauges.feedback_readings import parse_readings
from ...core.gauges.gauge_record import direct_readings, gauge_job
from ...core.job.job_sheet import Job
from ...core.readings.feedback_geometry import SPOKEN
from ...core.readings.reading_checks import combined_series
from ..properties.gauge_properties import parse_record, read_gaps
from ..properties.reading_properties import series_of
from ..state.shown import Comparison

HEAD = ("", "Sheet", "Corrected", "+-")
_UNITS = {"tilt": "deg"}


def comparison_key(settings: Any) -> object:
    """Changes with every reading that counts."""
    gauges = settings.gauges
    return repr((gauges.record, read_gaps(gauges), sorted(gauges.by_hand), series_of(settings.readings)))


def compare_gaps(job: Job, settings: Any) -> Comparison:
    """Compare the gaps, and the hand readings that count besides, with a job. Raises JobError with a sentence."""
    gauges = settings.gauges
    if not gauges.record:
        raise JobError("gauges", "have no points yet; write them, or load the points of those that were printed")
    record = parse_record(gauges.record)
    since = gauge_job(job, record)
    gaps = parse_readings(since.job, {"gap": read_gaps(gauges)}, record)
    if not gaps:
        raise JobError("gauges", "no gap is read yet; type one beside its point")
    readings = [*gaps, *direct_readings(combined_series(series_of(settings.readings)), gauges.by_hand)]
    result = feedback(since.job, readings)
    return Comparison(
        key=comparison_key(settings),
        result=result,
        since=since,
        rows=_rows(result, since.shift),
        repeat="" if result.repeat is None else f"Repeat first, as it has the largest influence: {result.repeat}.",
        refusals=tuple(_capital(refusal.sentence) for refusal in result.refusals),
        warnings=tuple(_capital(warning) for warning in result.warnings),
    )


def _rows(result: Feedback, shift: float) -> tuple[tuple[str, str, str, str], ...]:
    rows = []
    for item in result.corrections:
        label = f"{SPOKEN[item.quantity].removeprefix('the ').title()}, {_UNITS.get(item.quantity, 'mm')}"
        sheet = item.sheet + (shift if item.quantity == "lateral" else 0.0)
        corrected = "not told" if item.undetermined else f"{item.corrected:.2f}"
        rows.append((label, f"{sheet:.2f}", corrected, f"{item.standard_error:.2f}"))
    return tuple(rows)


def _capital(sentence: str) -> str:
    return sentence[0].upper() + sentence[1:]
