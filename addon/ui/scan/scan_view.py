# SPDX-License-Identifier: GPL-3.0-or-later
"""3D views that show a scan: far enough, all of it, in its colors."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import bpy
from mathutils import Vector

from ...core.scan.data.scan_data import robust_extent
from ...host.scan_object import mesh_of
from ...host.triangle_mesh_data import read_triangles

NEAREST, FURTHEST = 1.0, 20_000.0
"""Clip distances, mm."""
ROOM = 1.5
"""Distance of the view over the size of the scan."""


def look_at_scan(ob: bpy.types.Object) -> None:
    """Have all 3D views show an object but for its stray points."""
    middle, size = robust_extent(read_triangles(mesh_of(ob)).vertices)
    for space in _spaces():
        space.clip_start, space.clip_end = NEAREST, max(FURTHEST, 10.0 * size)
        space.region_3d.view_location = ob.matrix_world @ Vector(middle.tolist())
        space.region_3d.view_distance = ROOM * size


def show_point_colors() -> None:
    """Have all solid 3D views show the color attributes."""
    for space in _spaces():
        space.shading.color_type = "VERTEX"


def _spaces() -> Iterator[Any]:
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                yield area.spaces.active
