# SPDX-License-Identifier: GPL-3.0-or-later
"""What panel and overlay tell of the hand readings, prepared outside of drawing and kept until a value changes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...core.base.errors import JobError
from ...core.drawing.drawing import Drawing
from ...core.readings.cross_checks import CrossCheck
from ...core.readings.provisional_job import provisional_job
from ...core.readings.reading_checks import SeriesDoubt, combined_series, series_checks, series_doubt, sets_gap
from ...core.readings.reading_drawings import reading_drawing
from ...core.readings.reading_kinds import READING_KINDS, ReadingKind
from ...core.readings.readings import CombinedReading
from ..properties.job_labels import LABELS
from ..properties.reading_properties import series_of
from ..state.job_values import job_data, plain
from ..state.scene_state import SceneState
from ..state.shown import ReadingView

MADE_UP = "The sheet is not complete: the drawing has usual proportions."


def reading_view(state: SceneState, settings: Any) -> ReadingView:
    """The view of a scene's readings; the one that is there if it still holds."""
    readings = settings.readings
    data, series, second_at = job_data(settings), series_of(readings), plain(readings.second_at)
    key = (repr(data), repr(series), readings.kind, second_at)
    if state.readings is None or state.readings.key != key:
        state.readings = _made(key, data, series, readings.kind, second_at)
    return state.readings


def _made(key: object, data: Mapping[str, Any], series: Mapping[str, list[float]], chosen: str, second_at: float) -> ReadingView:
    provisional = provisional_job(data)
    combined = combined_series(series)
    checks: tuple[CrossCheck, ...] = ()
    drawing: Drawing | None = None
    problem = ""
    try:
        checks = series_checks(combined, provisional, second_at)
        drawing = reading_drawing(provisional.job, chosen, second_at=second_at)
    except JobError as error:
        problem = str(error)
    one = combined.get(chosen)
    return ReadingView(
        key=key,
        provisional=provisional,
        combined=combined,
        rows=() if one is None else _rows(READING_KINDS[chosen], one, data),
        sentence="" if one is None else one.sentence,
        stray=None if one is None or one.stray is None else one.stray.number - 1,
        doubt=series_doubt(combined, provisional) if any(map(sets_gap, combined)) else None,
        checks=checks,
        problem=problem,
        drawing=drawing,
    )


def _rows(kind: ReadingKind, one: CombinedReading, data: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    rows = [
        (f"Average of {one.count}", f"{one.mean:.2f} {kind.unit}"),
        ("Uncertainty of the Average", f"{one.sigma:.2f} {kind.unit}"),
    ]
    if kind.key is not None:
        section, name = kind.key
        label, unit = LABELS[f"{section}.{name}"][0], "inches" if name.endswith("_in") else kind.unit
        now = data.get(section, {}).get(name)
        rows.append((f"{label} from It", f"{kind.sheet_value(one.mean):.2f} {unit}"))
        rows.append(("In the Sheet", "nothing" if now is None else f"{now:.2f} {unit}"))
    return tuple(rows)


def doubt_sentence(doubt: SeriesDoubt) -> str:
    """Where the doubt for the budget comes from."""
    if doubt.of is None:
        return (
            f"Reading uncertainty for the budget: {doubt.sigma:.2f} mm, as usual, until height, ahead, tilt and radius are read."
        )
    return f"Reading uncertainty for the budget: {doubt.sigma:.2f} mm at the worst place, set by {READING_KINDS[doubt.of].label}."
