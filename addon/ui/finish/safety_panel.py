# SPDX-License-Identifier: GPL-3.0-or-later
"""The panel that says what to do before the first ride."""

from __future__ import annotations

import bpy

BEFORE_THE_FIRST_RIDE = (
    "A touching fender locks the wheel",
    "Spin the wheel, watch the gap",
    "Turn to full lock both ways",
    "Springs out: go to full bump",
    "Lock nuts; no thread lock on prints",
    "Check again after the first ride",
    "Check again with a new tire",
    "Local rules come first",
)


class FENDERWRIGHT_PT_safety(bpy.types.Panel):
    """What to do before the first ride"""

    bl_label = "Before the First Ride"
    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = "Fenderwright"
    bl_order = 1000

    def draw(self, context: bpy.types.Context) -> None:
        column = self.layout.column(align=True)
        for index, sentence in enumerate(BEFORE_THE_FIRST_RIDE):
            column.label(text=sentence, icon="ERROR" if index == 0 else "DOT")
