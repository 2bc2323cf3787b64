# SPDX-License-Identifier: GPL-3.0-or-later
"""Printed gauges and the sheet of today: what feedback starts from, and what of its result goes back into the sheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..base.errors import JobError
from ..job.job_sheet import Job
from ..readings.reading_kinds import READING_KINDS
from ..readings.readings import CombinedReading
from .feedback import DirectReading, Feedback

_KEY = "gauges"
_SAME_MM = 0.01
DIRECT_KINDS = {
    "height": "height",
    "ahead": "ahead",
    "tilt": "tilt",
    "radius": "crown_radius",
    "circumference": "crown_radius",
}
"""Kinds of hand readings that tell one of the quantities of feedback by themselves."""


@dataclass(frozen=True, eq=False)
class GaugeJob:
    """job : that of today, with the bolts as in the gauges. shift : of today's bolts to the rider's left since then, mm"""

    job: Job
    shift: float


def gauge_job(job: Job, record: Mapping[str, Any]) -> GaugeJob:
    """The job that gauges of a record hang from.

    A correction of the offset to the side moves all bolts of the sheet; the gauges that it came from still hang by the old
    ones, so that the correction is found again, not twice.
    Raises JobError if the record is none, or the sheet has another bolt pattern by now.
    """
    try:
        printed = np.array([(float(x), float(ahead)) for x, ahead in record["sheet"]["mount"]["bolts"]]).reshape(-1, 2)
    except (KeyError, TypeError, ValueError) as error:
        raise JobError(_KEY, f"is not the record of printed gauges: {error}") from error
    today = np.array(job.mount.bolts)
    moved = today - printed if today.shape == printed.shape and len(printed) else None
    if moved is None or np.abs(moved - [moved[:, 0].mean(), 0.0]).max() > _SAME_MM:
        raise JobError(_KEY, "were printed for another bolt pattern than the sheet has; write and print them anew")
    bolts = tuple((float(x), float(ahead)) for x, ahead in printed)
    return GaugeJob(replace(job, mount=replace(job.mount, bolts=bolts)), float(moved[:, 0].mean()))


def direct_readings(combined: Mapping[str, CombinedReading], names: Iterable[str]) -> list[DirectReading]:
    """Series of hand readings as readings of a quantity by itself, in the order of DIRECT_KINDS.

    names : kinds that count; those without a series are left out
    """
    wanted = frozenset(names)
    readings = []
    for name, quantity in DIRECT_KINDS.items():
        if name in wanted and name in combined:
            kind, one = READING_KINDS[name], combined[name]
            readings.append(DirectReading(quantity, kind.factor * one.mean - kind.less, kind.factor * one.sigma))
    return readings


def determined(result: Feedback) -> dict[str, float]:
    """The corrected values of the quantities that the readings determine, rounded to 0.01 as in the corrected sheet."""
    return {item.quantity: round(item.corrected, 2) for item in result.corrections if not item.undetermined}
