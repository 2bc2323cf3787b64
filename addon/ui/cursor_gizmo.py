# SPDX-License-Identifier: GPL-3.0-or-later
"""Follows the mouse over the 3D view without taking a click, so that the value under the cursor can be told."""

from __future__ import annotations

from typing import Any

import bpy

from . import session
from .settings import settings_of
from .view_overlay import cursor_at


class FENDERWRIGHT_GT_cursor(bpy.types.Gizmo):
    """Draws nothing and is never hit; the host asks it at every move of the mouse"""

    bl_idname = "FENDERWRIGHT_GT_cursor"

    def draw(self, context: bpy.types.Context) -> None:
        """Nothing to see."""

    def test_select(self, context: bpy.types.Context, location: Any) -> int:
        cursor_at((int(location[0]), int(location[1])))
        context.region.tag_redraw()
        return -1


class FENDERWRIGHT_GGT_cursor(bpy.types.GizmoGroup):
    """Holds the gizmo that follows the mouse"""

    bl_idname = "FENDERWRIGHT_GGT_cursor"
    bl_label = "Value Under the Cursor"
    bl_space_type = "VIEW_3D"
    bl_region_type = "WINDOW"
    bl_options = {"3D", "PERSISTENT", "SHOW_MODAL_ALL"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        scene = context.scene
        return scene is not None and settings_of(scene).show_map and session.of_scene(scene).shaped is not None

    def setup(self, context: bpy.types.Context) -> None:
        self.gizmos.new(FENDERWRIGHT_GT_cursor.bl_idname)


CLASSES = (FENDERWRIGHT_GT_cursor, FENDERWRIGHT_GGT_cursor)
