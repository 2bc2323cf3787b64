# SPDX-License-Identifier: GPL-3.0-or-later
"""The panel that says what to do before the first ride."""

from __future__ import annotations

import bpy

BEFORE_THE_FIRST_RIDE = (
    "A fender that touches the wheel can lock it.",
    "Spin the wheel by hand and watch the gap all round.",
    "Turn to full lock both ways.",
    "Go to full bump with the springs out.",
    "Use thread lock on every screw of the mount.",
    "Check the gap again after the first ride,",
    "and again with every new tire.",
    "Local rules on fenders come first.",
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
            column.label(text=sentence, icon="ERROR" if index == 0 else "BLANK1")
