# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that edit the further seats of the job sheet."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np

from ..core.arrays import Array
from ..core.seat import wall_shares
from ..core.skin import full_skin, skin
from . import session
from .settings import settings_of
from .table_rows import RemoveRowOperator, add_row


class FENDERWRIGHT_OT_add_seat(bpy.types.Operator):
    """Add a seat on the skin, where the skin is nearest to the 3D cursor"""

    bl_idname = "fenderwright.add_seat"
    bl_label = "Add Seat"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        state = session.of_scene(context.scene) if context.scene is not None else None
        if state is not None and state.shaped is not None and state.facts is not None:
            return True
        cls.poll_message_set("There is no skin to put it on: complete the sheet and seed the cage first")
        return False

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        center, normal = _on_skin(session.of_scene(context.scene), np.array(context.scene.cursor.location, dtype=np.float64))
        seat = add_row(settings, "seat", "seat")
        seat.center, seat.normal = center.round(1).tolist(), normal.round(4).tolist()
        seat.thread = settings.mount.thread
        seat.bolts.add().value = (0.0, 0.0)
        session.mark_job_changed(context.scene)
        return {"FINISHED"}


def _on_skin(state: Any, place: Array) -> tuple[Array, Array]:
    """Point (3,) of the outer face nearest to a place, and the outward normal (3,) there."""
    whole = full_skin(skin(state.shaped.cage, state.shaped.stencil))
    nearest = int(np.argmin(np.linalg.norm(whole.points - place, axis=1)))
    outward, _ = wall_shares(state.facts.job.wall)
    return whole.points[nearest] + outward * whole.normals[nearest], whole.normals[nearest]


class FENDERWRIGHT_OT_remove_seat(RemoveRowOperator, bpy.types.Operator):
    """Remove the seat that is shown"""

    bl_idname = "fenderwright.remove_seat"
    bl_label = "Remove Seat"
    table, called = "seat", "seat beside the mount"


CLASSES = (FENDERWRIGHT_OT_add_seat, FENDERWRIGHT_OT_remove_seat)
