# SPDX-License-Identifier: GPL-3.0-or-later
"""3D views that show a scan: far enough, all of it, in its colors."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import bpy
from mathutils import Vector

NEAREST, FURTHEST = 1.0, 20_000.0
"""Clip distances, mm."""
ROOM = 1.5
"""Distance of the view over the size of the scan."""


def look_at_scan(ob: bpy.types.Object) -> None:
    """Have all 3D views show the whole of an object."""
    corners = [ob.matrix_world @ Vector(corner) for corner in ob.bound_box]
    low = Vector([min(corner[i] for corner in corners) for i in range(3)])
    high = Vector([max(corner[i] for corner in corners) for i in range(3)])
    for space in _spaces():
        space.clip_start, space.clip_end = NEAREST, max(FURTHEST, 10.0 * (high - low).length)
        space.region_3d.view_location = 0.5 * (low + high)
        space.region_3d.view_distance = ROOM * (high - low).length


def show_point_colors() -> None:
    """Have all solid 3D views show the color attributes."""
    for space in _spaces():
        space.shading.color_type = "VERTEX"


def _spaces() -> Iterator[Any]:
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                yield area.spaces.active
