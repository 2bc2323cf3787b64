# SPDX-License-Identifier: GPL-3.0-or-later
"""Which object is the scan of a scene, and what is stated of its directions."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.scan.data.hints import REGIONS

UNITS = (
    ("mm", "Millimeters", "One unit of the file is 1 mm"),
    ("cm", "Centimeters", "One unit of the file is 10 mm"),
    ("m", "Meters", "One unit of the file is 1000 mm"),
    ("in", "Inches", "One unit of the file is 25.4 mm"),
)
REGION_LABELS = {"tire": "Tire", "mount": "Mount Face", "holes": "Bolt Holes", "chassis": "Chassis"}
REGION_CHOICES = [
    (name, REGION_LABELS[name], f"The marked points belong to the {REGION_LABELS[name].lower()}") for name in REGIONS
]
_DIRECTIONS = (
    ("FIND", "Find", "Take it from the scan itself, and say what it rests on"),
    *(
        (f"{sign}{axis}", f"{sign}{axis}", f"Along {sign}{axis} of the scene, with the scan where it is before it is aligned")
        for axis in "XYZ"
        for sign in "+-"
    ),
)


def _is_mesh(_: Any, ob: bpy.types.Object) -> bool:
    return ob.type == "MESH"


class FENDERWRIGHT_PG_Scan(bpy.types.PropertyGroup):
    """The scan of a scene."""

    scan_object: bpy.props.PointerProperty(  # type: ignore[valid-type]
        name="Scan", description="Mesh object that is the scan of wheel and mount", type=bpy.types.Object, poll=_is_mesh
    )
    up: bpy.props.EnumProperty(  # type: ignore[valid-type]
        name="Up", description="Which way is up in the scan before it is aligned", items=_DIRECTIONS
    )
    forward: bpy.props.EnumProperty(  # type: ignore[valid-type]
        name="Forward", description="Which way the bike looks in the scan before it is aligned", items=_DIRECTIONS
    )


def scan_settings(scene: bpy.types.Scene) -> Any:
    """What is kept of the scan of a scene."""
    return scene.fenderwright_scan  # type: ignore[attr-defined]


def register() -> None:
    bpy.types.Scene.fenderwright_scan = bpy.props.PointerProperty(  # type: ignore[attr-defined]
        name="Fenderwright Scan", description="Scan of this scene", type=FENDERWRIGHT_PG_Scan
    )


def unregister() -> None:
    del bpy.types.Scene.fenderwright_scan  # type: ignore[attr-defined]


CLASSES = (FENDERWRIGHT_PG_Scan,)
