# SPDX-License-Identifier: GPL-3.0-or-later
"""Gauges as properties of the scene: which to write, and the gaps that were read against those that were."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import bpy

from ...core.base.errors import JobError
from ...core.gauges.gauge_record import DIRECT_KINDS
from ...core.readings.reading_kinds import READING_KINDS
from ...core.tables.gauge_rules import FEELER_SIGMA_MM, STRIP_WIDTHS_MM
from ..state.job_values import plain

BY_HAND = [
    (name, READING_KINDS[name].label, "Count this series too, if it was read", 1 << number)
    for number, name in enumerate(DIRECT_KINDS)
]


def _gap_typed(point: Any, context: bpy.types.Context) -> None:
    point.is_read = True


class FENDERWRIGHT_PG_Station(bpy.types.PropertyGroup):
    """Station of a crown strip."""

    value: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Angle",
        description="Angle about the axle, from the top, forward positive, in degrees",
        min=-180.0,
        max=180.0,
        precision=0,
        step=100,
    )


class FENDERWRIGHT_PG_Gap(bpy.types.PropertyGroup):
    """A named point of a gauge, and the gap that was read there."""

    label: bpy.props.StringProperty(name="Point", description="Angle and name of the point")  # type: ignore[valid-type]
    station: bpy.props.FloatProperty(name="Angle", description="Angle of the gauge about the axle, in degrees")  # type: ignore[valid-type]
    point: bpy.props.StringProperty(name="Notch", description="Name of the notch on the gauge")  # type: ignore[valid-type]
    expected: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Expected", description="Gap that the sheet of the gauge foretold, in mm", precision=2
    )
    is_read: bpy.props.BoolProperty(name="Read", description="This gap was read and counts")  # type: ignore[valid-type]
    gap: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Gap", description="Gap read by feelers or drill shanks, in mm", precision=2, step=10, update=_gap_typed
    )


class FENDERWRIGHT_PG_Gauges(bpy.types.PropertyGroup):
    """Gauges of the scene and what was read against them."""

    use_stations: bpy.props.BoolProperty(  # type: ignore[valid-type]
        name="Own Angles", description="Choose the angles of the crown strips, instead of the mount and one to each side"
    )
    stations: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Angles", description="Angles of the crown strips", type=FENDERWRIGHT_PG_Station
    )
    width: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Strip Width",
        description="Width of the crown strips, in mm",
        default=12.0,
        min=STRIP_WIDTHS_MM[0],
        max=STRIP_WIDTHS_MM[1],
        precision=1,
        step=50,
    )
    record: bpy.props.StringProperty(  # type: ignore[valid-type]
        name="Record", description="Points and sheet of the gauges that were written last", options={"HIDDEN"}
    )
    gaps: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Gaps", description="Named points of the gauges, and the gaps read there", type=FENDERWRIGHT_PG_Gap
    )
    sigma: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Uncertainty of a Gap",
        description="One standard deviation of a gap that is read, in mm",
        default=FEELER_SIGMA_MM,
        min=0.01,
        max=5.0,
        precision=2,
        step=5,
    )
    by_hand: bpy.props.EnumProperty(  # type: ignore[valid-type]
        name="With Readings Of",
        description="Series of hand readings that count besides the gaps",
        items=BY_HAND,
        options={"ENUM_FLAG"},
        default={"tilt", "circumference"},
    )


def parse_record(text: str) -> dict[str, Any]:
    """The record of printed gauges. Raises JobError if the text is none, or holds a point that cannot be."""
    try:
        record = json.loads(text)
        for row in record["points"]:
            values = (row["station"], row["expected_mm"], *row["position"])
            if len(values) != 5 or not all(isinstance(value, int | float) for value in values):
                raise ValueError(f"point {row['point']} holds no numbers")
        if not isinstance(record["sheet"], dict):
            raise TypeError("the sheet is no table")
    except (KeyError, TypeError, ValueError) as error:
        raise JobError("gauges", f"is not the record of printed gauges: {error}") from error
    return dict(record)


def fill_gaps(gauges: Any, record: Mapping[str, Any]) -> None:
    """Keep a record and list its points, with no gap read yet: gaps of former prints say nothing of these."""
    gauges.record = json.dumps(record)
    gauges.gaps.clear()
    for row in record["points"]:
        entry = gauges.gaps.add()
        entry.label = f"Angle {row['station']:+g} {row['point']}"
        entry.station, entry.point, entry.expected = row["station"], str(row["point"]), row["expected_mm"]
        entry.gap = row["expected_mm"]
        entry.is_read = False


def read_gaps(gauges: Any) -> list[dict[str, Any]]:
    """The gaps that were read, as tables of readings."""
    return [
        {"station": plain(entry.station), "point": entry.point, "mm": plain(entry.gap), "sigma": plain(gauges.sigma)}
        for entry in gauges.gaps
        if entry.is_read
    ]


CLASSES = (FENDERWRIGHT_PG_Station, FENDERWRIGHT_PG_Gap, FENDERWRIGHT_PG_Gauges)
