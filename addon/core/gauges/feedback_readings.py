# SPDX-License-Identifier: GPL-3.0-or-later
"""Readings for feedback, from the tables of a file and the record of the printed gauges."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ..base.errors import JobError
from ..job.job_sheet import Job
from ..readings.feedback_geometry import QUANTITIES, Place
from ..tables.gauge_rules import FEELER_SIGMA_MM
from .feedback import DirectReading, GapReading

_GAP_KEYS = {"station", "point", "mm", "sigma"}
_DIRECT_KEYS = {"quantity", "value", "sigma"}


def parse_readings(job: Job, data: Mapping[str, Any], gauges: Mapping[str, Any]) -> list[GapReading | DirectReading]:
    """Readings of a file.

    data : tables "gap" (station, point, mm, sigma) and "direct" (quantity, value, sigma), lists of tables each
    gauges : the record that was written beside the gauges, with the positions of the named points
    A gap without sigma takes that of the table of gauges; a direct reading must state its own.
    Raises JobError for an unknown key, a missing or wrong value, a point that is on no gauge, or gauges of another bolt pattern.
    """
    for key in data:
        if key not in ("gauges", "gap", "direct"):
            raise JobError(key, "unknown key; allowed here is gauges, gap, direct")
    places = _places(job, gauges)
    readings: list[GapReading | DirectReading] = []
    for i, table in enumerate(_tables(data, "gap")):
        where = f"gap[{i}]"
        _refuse_unknown(where, table, _GAP_KEYS)
        name = (_number(where, table, "station"), str(table.get("point", "")))
        if name not in places:
            known = ", ".join(f"{station:g} {point}" for station, point in places)
            raise JobError(where, f"station {name[0]:g} point {name[1]!r} is on no gauge; there are {known}")
        sigma = _number(where, table, "sigma") if "sigma" in table else FEELER_SIGMA_MM
        readings.append(GapReading(places[name], _number(where, table, "mm"), sigma))
    for i, table in enumerate(_tables(data, "direct")):
        where = f"direct[{i}]"
        _refuse_unknown(where, table, _DIRECT_KEYS)
        quantity = table.get("quantity")
        if quantity not in QUANTITIES:
            raise JobError(f"{where}.quantity", f"{quantity!r} is unknown; allowed is {', '.join(QUANTITIES)}")
        readings.append(DirectReading(str(quantity), _number(where, table, "value"), _number(where, table, "sigma")))
    return readings


def _places(job: Job, gauges: Mapping[str, Any]) -> dict[tuple[float, str], Place]:
    try:
        bolts = tuple((float(x), float(a)) for x, a in gauges["sheet"]["mount"]["bolts"])
        rows = [
            (float(row["station"]), str(row["point"]), np.array(row["position"], dtype=np.float64)) for row in gauges["points"]
        ]
        if not all(position.shape == (3,) and np.isfinite(position).all() for _, _, position in rows):
            raise ValueError("a position is not three numbers")
    except (KeyError, TypeError, ValueError) as error:
        raise JobError("gauges", f"is not the record of printed gauges: {error}") from error
    if bolts != job.mount.bolts:
        raise JobError(
            "gauges", "were printed for another bolt pattern than the sheet has; take the sheet that they were printed from"
        )
    return {(station, point): Place(station, point, position) for station, point, position in rows}


def _tables(data: Mapping[str, Any], key: str) -> list[Mapping[str, Any]]:
    tables = data.get(key, [])
    if not isinstance(tables, list) or not all(isinstance(table, Mapping) for table in tables):
        raise JobError(key, "must be a list of tables")
    return tables


def _refuse_unknown(where: str, table: Mapping[str, Any], allowed: set[str]) -> None:
    for key in table:
        if key not in allowed:
            raise JobError(f"{where}.{key}", f"unknown key; allowed here is {', '.join(sorted(allowed))}")


def _number(where: str, table: Mapping[str, Any], key: str) -> float:
    value = table.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise JobError(f"{where}.{key}", f"{value!r} is not a number" if key in table else "is missing; it must be stated here")
    return float(value)
