# SPDX-License-Identifier: GPL-3.0-or-later
"""Panel of the seats beside the mount."""

from __future__ import annotations

import bpy

from ..base.panel_parts import JobPanel, draw_list, draw_table, draw_values
from ..state.scene_settings import settings_of


class FENDERWRIGHT_PT_seats(JobPanel, bpy.types.Panel):
    """Seats beside the mount, such as ears to the fork legs and feet of struts"""

    bl_label = "Extra Mounts"
    bl_parent_id = "FENDERWRIGHT_PT_mount"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        settings = settings_of(context.scene)
        seat = draw_table(layout, settings, "seat")
        layout.operator("fenderwright.fit_to_seats", icon="SNAP_FACE")
        if seat is None:
            return
        draw_values(layout, seat, "seat", "name", "center", "normal", "turn", "sides")
        draw_list(layout, seat, "seat", "bolts")
        draw_values(layout, seat, "seat", "thread", "fit", "pad", "blend", "bracket", "hardware", "washer", "recess")
        layout.prop(seat, "use_slots")
        if seat.use_slots:
            draw_list(layout, seat, "seat", "slots")


CLASSES = (FENDERWRIGHT_PT_seats,)
