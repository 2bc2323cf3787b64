# SPDX-License-Identifier: GPL-3.0-or-later
"""Follows the mouse over the 3D view without taking a click, so that the value under the cursor can be told.

A modal operator would do it too, but the host saves no file on its own and mixes up undo while one runs.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import bpy
import numpy as np
from bpy_extras.view3d_utils import region_2d_to_origin_3d, region_2d_to_vector_3d

from ..state import session
from ..state.scene_settings import settings_of
from ..state.shown import CursorReading
from ..watch.readout import under_cursor


class FENDERWRIGHT_GT_cursor(bpy.types.Gizmo):
    """Draws nothing and is never hit; the host asks it at every move of the mouse"""

    bl_idname = "FENDERWRIGHT_GT_cursor"

    def draw(self, context: bpy.types.Context) -> None:
        """Nothing to see."""

    def test_select(self, context: bpy.types.Context, location: Any) -> int:
        """Take up what is under the mouse, have the view drawn if that is something else than before; never a hit."""
        state = session.of_scene(context.scene)
        before = state.cursor
        state.cursor = _reading(context, state, (int(location[0]), int(location[1])))
        if state.cursor != before:
            context.region.tag_redraw()
        return -1


def _reading(context: bpy.types.Context, state: session.SceneState, place: tuple[int, int]) -> CursorReading | None:
    """The reading at a place of the region; beside the skin, the station of the last one without lines."""
    region, view = context.region, context.region_data
    origin = np.array(region_2d_to_origin_3d(region, view, place), dtype=np.float64)
    direction = np.array(region_2d_to_vector_3d(region, view, place), dtype=np.float64)
    found = under_cursor(state, origin, direction / np.linalg.norm(direction))
    if found is None:
        last = state.cursor
        return None if last is None else replace(last, lines=(), place=(0, 0))
    lines, station = found
    return CursorReading(region.as_pointer(), place, lines, station, state.version)


class FENDERWRIGHT_GGT_cursor(bpy.types.GizmoGroup):
    """Holds the gizmo that follows the mouse"""

    bl_idname = "FENDERWRIGHT_GGT_cursor"
    bl_label = "Value Under the Cursor"
    bl_space_type = "VIEW_3D"
    bl_region_type = "WINDOW"
    bl_options = {"PERSISTENT", "SHOW_MODAL_ALL"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        scene = context.scene
        if scene is None or session.of_scene(scene).shaped is None:
            return False
        settings = settings_of(scene)
        return bool(settings.show_map or (settings.show_section and settings.section_follows))

    def setup(self, context: bpy.types.Context) -> None:
        self.gizmos.new(FENDERWRIGHT_GT_cursor.bl_idname)


CLASSES = (FENDERWRIGHT_GT_cursor, FENDERWRIGHT_GGT_cursor)
