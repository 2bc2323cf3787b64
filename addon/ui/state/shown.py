# SPDX-License-Identifier: GPL-3.0-or-later
"""What views and panels tell, as values: made elsewhere, kept in the state of a scene."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.base.arrays import Array
from ...core.base.wheel_axes import station_of
from ...core.drawing.drawing import Drawing
from ...core.gauges.feedback import Feedback
from ...core.gauges.gauge_record import GaugeJob
from ...core.readings.cross_checks import CrossCheck
from ...core.readings.provisional_job import ProvisionalJob
from ...core.readings.reading_checks import SeriesDoubt
from ...core.readings.readings import CombinedReading
from ...core.shaping.seat_gaps import SeatGap
from ...core.views.section_view import SectionView
from ...core.views.view_lines import ViewLine


@dataclass(frozen=True)
class AtRest:
    """What is worked out only while nothing moves. proven_mm : no point of the part is nearer to the tire; mass_g : of the print"""

    proven_mm: float
    mass_g: float


@dataclass(frozen=True, eq=False)
class Readout:
    """key : what it was made from; rows : label and value, the first one most important; broken : the clearance is broken

    least_place : (3,) float, mm, where the least room is; least_text : what is told there
    seats : how far the skin is from the planes of the mount and the further seats; holes : (3,) float, mm, middle of each
    """

    key: object
    rows: tuple[tuple[str, str], ...]
    broken: bool
    least_place: Array
    least_text: str
    seats: tuple[SeatGap, ...]
    holes: tuple[Array, ...]


@dataclass(frozen=True, eq=False)
class Views:
    """key : what they were made from; section, side : in mm"""

    key: object
    section: SectionView
    side: tuple[ViewLine, ...]


@dataclass(frozen=True)
class CursorReading:
    """What the skin has under the mouse: place (x, y) in pixels of a region, lines of text, station, degrees; version of the state

    region : number of the region, as views may be several
    """

    region: int
    place: tuple[int, int]
    lines: tuple[str, ...]
    station_deg: float
    version: int


def said_place(point: Array) -> str:
    """Station and offset of a point (3,), in whole degrees and mm."""
    station, x = (round(float(value)) for value in (station_of(point), point[0]))
    return f"{station}°, x {x}"


@dataclass(frozen=True, eq=False)
class ReadingView:
    """key : what it was made from. provisional : the job to draw with

    combined : by kind, where there are readings. rows, sentence, stray : of the chosen kind; stray is an index or None
    doubt : what goes into the budget, None while nothing that was read sets a gap
    checks : contradictions first. problem : why there are none. drawing : None if the reading cannot be taken as stated
    """

    key: object
    provisional: ProvisionalJob
    combined: dict[str, CombinedReading]
    rows: tuple[tuple[str, str], ...]
    sentence: str
    stray: int | None
    doubt: SeriesDoubt | None
    checks: tuple[CrossCheck, ...]
    problem: str
    drawing: Drawing | None


@dataclass(frozen=True, eq=False)
class Comparison:
    """What the gaps say.

    key : the readings that it was made from. rows : as HEAD, for each quantity. repeat, refusals, warnings : sentences
    """

    key: object
    result: Feedback
    since: GaugeJob
    rows: tuple[tuple[str, str, str, str], ...]
    repeat: str
    refusals: tuple[str, ...]
    warnings: tuple[str, ...]
