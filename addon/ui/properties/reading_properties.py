# SPDX-License-Identifier: GPL-3.0-or-later
"""Hand readings as properties of the scene: series of numbers, and the ways to enter a profile."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.readings.reading_kinds import READING_KINDS
from ..state.job_values import plain
from .job_properties import FENDERWRIGHT_PG_Pair

PROFILE = "profile"
_TOOLTIPS = {
    "height": "Tape from the mount face to the tire's crown, to the tops of its knobs, square to the face",
    "ahead": "Pattern center ahead of the axle, between plumb lines",
    "tilt": "Slope of the mount face along the bike, nose up positive",
    "radius": "Middle of the axle to the crown, to the tops of the knobs, wheel off the ground",
    "circumference": "Tape once round the tire over the knobs on the middle of the tread, wheel off the ground",
    "ground_radius": "Middle of the axle to the ground, read before the wheels are raised, as a check",
    "width": "Widest place of the tire by calipers",
    "rim_width": "Between the flanges of the rim, in mm",
    "axle_to_face": "Middle of the axle to the plane of the mount face, square to it, as a check",
    "height_ahead": "Mount height read again ahead of the pattern center, as a check of the tilt",
    PROFILE: "Profile of the tread by calipers, by contour gauge or traced from a photograph",
}
CHOICES = [
    *((name, kind.label, _TOOLTIPS[name]) for name, kind in READING_KINDS.items()),
    (PROFILE, "Profile", _TOOLTIPS[PROFILE]),
]
PROFILE_WAYS = (
    ("WIDTHS", "Calipers at Drops", "Widths of the tire at drops below its crown"),
    ("CONTOUR", "Contour Gauge", "Points across and up of a contour gauge, or of its outline on paper"),
    ("TRACE", "Photograph", "An outline traced over a reference image that shows a known length"),
)
PROFILE_LISTS = {"WIDTHS": "widths", "CONTOUR": "contour"}


def _redraw(readings: Any, context: bpy.types.Context) -> None:
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                area.tag_redraw()


def _is_trace(_: Any, ob: bpy.types.Object) -> bool:
    return ob.type in ("CURVE", "MESH")


def _is_picture(_: Any, ob: bpy.types.Object) -> bool:
    return ob.type == "EMPTY" and ob.empty_display_type == "IMAGE"


class FENDERWRIGHT_PG_Reading(bpy.types.PropertyGroup):
    """One reading of a series."""

    value: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Value", description="One reading, in mm or degrees", precision=2, step=10
    )


class FENDERWRIGHT_PG_Readings(bpy.types.PropertyGroup):
    """What was read by hand; one list for each kind of reading."""

    kind: bpy.props.EnumProperty(  # type: ignore[valid-type]
        name="Reading", description="What is read", items=CHOICES, default="height", update=_redraw
    )
    new_value: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="New Reading", description="What the tape says, in mm or degrees", precision=2, step=10
    )
    show_drawing: bpy.props.BoolProperty(  # type: ignore[valid-type]
        name="Show Where to Measure", description="Draw in the 3D view where the tape is held", update=_redraw
    )
    second_at: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Place Ahead",
        description="How far ahead of the pattern center, along the face, the second height is read, in mm",
        default=60.0,
        min=-250.0,
        max=250.0,
        precision=1,
        step=100,
        update=_redraw,
    )
    profile_way: bpy.props.EnumProperty(  # type: ignore[valid-type]
        name="Taken With", description="How the profile was taken", items=PROFILE_WAYS
    )
    widths: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Drop and Width", description="Drop below the crown, and width of the tire there, in mm", type=FENDERWRIGHT_PG_Pair
    )
    contour: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Across and Up", description="Points of the contour, across and up, in mm", type=FENDERWRIGHT_PG_Pair
    )
    use_middle: bpy.props.BoolProperty(  # type: ignore[valid-type]
        name="Use Middle of Tread", description="The middle of the tread was marked, instead of being found by symmetry"
    )
    middle: bpy.props.FloatVectorProperty(  # type: ignore[valid-type]
        name="Middle of Tread", description="The mark of the tread's middle, across and up, in mm", size=2, precision=2
    )
    picture: bpy.props.PointerProperty(  # type: ignore[valid-type]
        name="Photograph", description="Empty that shows the photograph", type=bpy.types.Object, poll=_is_picture
    )
    trace: bpy.props.PointerProperty(  # type: ignore[valid-type]
        name="Traced Outline",
        description="Curve or line of edges that was traced over the photograph",
        type=bpy.types.Object,
        poll=_is_trace,
    )
    known_begin: bpy.props.FloatVectorProperty(  # type: ignore[valid-type]
        name="Known Length Begins", description="Where the known length begins on the photograph", size=3, subtype="XYZ"
    )
    known_end: bpy.props.FloatVectorProperty(  # type: ignore[valid-type]
        name="Known Length Ends", description="Where the known length ends on the photograph", size=3, subtype="XYZ"
    )
    known_mm: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Known Length", description="Length that the photograph shows, in mm", min=0.0, precision=2, step=100
    )
    use_middle_mark: bpy.props.BoolProperty(  # type: ignore[valid-type]
        name="Use Mark of the Middle", description="The middle of the tread was marked, instead of being found by symmetry"
    )
    middle_mark: bpy.props.FloatVectorProperty(  # type: ignore[valid-type]
        name="Middle of Tread", description="Where the middle of the tread is on the photograph", size=3, subtype="XYZ"
    )
    use_distance: bpy.props.BoolProperty(  # type: ignore[valid-type]
        name="Use Camera Distance", description="Correct the scale for a known length that lay nearer or farther away"
    )
    distance_mm: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Camera Distance", description="From the camera to the traced edge, in mm", default=1000.0, min=1.0, step=1000
    )
    depth_mm: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Farther By", description="How much farther away the known length lay, negative for nearer, in mm", step=100
    )


FENDERWRIGHT_PG_Readings.__annotations__.update(
    {
        name: bpy.props.CollectionProperty(
            name=kind.label, description=f"Readings: {_TOOLTIPS[name]}", type=FENDERWRIGHT_PG_Reading
        )
        for name, kind in READING_KINDS.items()
    }
)


def series_of(readings: Any) -> dict[str, list[float]]:
    """The readings of each kind."""
    return {name: [plain(entry.value) for entry in getattr(readings, name)] for name in READING_KINDS}


CLASSES = (FENDERWRIGHT_PG_Reading, FENDERWRIGHT_PG_Readings)
