# SPDX-License-Identifier: GPL-3.0-or-later
"""What operators on the cage share."""

from __future__ import annotations

import bpy

from ..state.scene_settings import settings_of


class CageOperator:
    """Operators that need a cage."""

    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if context.scene is not None and settings_of(context.scene).cage_object is not None:
            return True
        cls.poll_message_set("The scene has no cage, seed one first")  # type: ignore[attr-defined]
        return False

    @classmethod
    def in_object_mode(cls, context: bpy.types.Context) -> bool:
        """Whether the host is in object mode; says so on the button where it is not."""
        if context.mode == "OBJECT":
            return True
        cls.poll_message_set("Go back to object mode first")  # type: ignore[attr-defined]
        return False
