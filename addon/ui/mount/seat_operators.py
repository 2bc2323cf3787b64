# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that edit the further seats of the job sheet."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np

from ...core.base.arrays import Array
from ...core.seat.seat_offset import wall_shares
from ...core.shaping.fit_to_seats import fit_to_seats
from ...core.shaping.seat_gaps import SeatGap, seat_gaps
from ...core.skin.skin import full_skin, skin
from ...host.cage.cage_mesh import read_seat, write_points
from ..base.cage_operator import CageOperator
from ..base.table_rows import RemoveRowOperator, add_row
from ..state import session
from ..state.scene_settings import settings_of
from ..watch.live import live_step


class FENDERWRIGHT_OT_add_seat(bpy.types.Operator):
    """Add a seat on the skin, where the skin is nearest to the 3D cursor"""

    bl_idname = "fenderwright.add_seat"
    bl_label = "Add Mount"
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


class FENDERWRIGHT_OT_fit_to_seats(CageOperator, bpy.types.Operator):
    """Move the skin to the planes of the further seats, as far as the clearance allows"""

    bl_idname = "fenderwright.fit_to_seats"
    bl_label = "Bring Skin to Mounts"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        state = session.of_scene(context.scene)
        if not len(settings_of(context.scene).seats):
            cls.poll_message_set("There is no seat beside the mount")
            return False
        if state.shaped is not None and state.facts is not None and state.shaped.clear:
            return True
        cls.poll_message_set("The cage must be watched and clear: complete the sheet, turn Hold on, or restore the clearance")
        return False

    def execute(self, context: bpy.types.Context) -> set[Any]:
        state, cage = session.of_scene(context.scene), settings_of(context.scene).cage_object
        shaped, facts = state.shaped, state.facts
        assert shaped is not None and facts is not None  # as poll has seen to
        held = session.seat_rows(state, read_seat(cage)) if settings_of(context.scene).hold_seat else None
        fitted = fit_to_seats(facts.job, shaped.cage, shaped.stencil, facts.field, held)
        with session.OwnChange():
            write_points(cage, fitted.points)
        state = live_step(context.scene, budget_s=None)
        assert state.shaped is not None
        gaps = seat_gaps(facts.job, full_skin(skin(state.shaped.cage, state.shaped.stencil)))
        left = [said_gap(gap) for gap in gaps if not gap.fits]
        if left:
            self.report({"WARNING"}, "; ".join(left))
            return {"FINISHED"}
        farthest = max(gap.off_mm for gap in gaps if gap.off_mm is not None)
        self.report({"INFO"}, f"The skin is within {farthest:.1f} mm of the planes of its seats, which their blends take up")
        return {"FINISHED"}


def said_gap(gap: SeatGap) -> str:
    """What is left to a seat that the wall cannot be worked into."""
    if gap.off_mm is None:
        return f"{gap.name}: no skin under it; move the seat, or shape the skin to it"
    return (
        f"{gap.name}: the skin is {gap.off_mm:.1f} mm off its plane, {gap.allowed_mm:.1f} mm can be blended; move the seat, widen its "
        "blend, or shape the skin to it"
    )


class FENDERWRIGHT_OT_remove_seat(RemoveRowOperator, bpy.types.Operator):
    """Remove the seat that is shown"""

    bl_idname = "fenderwright.remove_seat"
    bl_label = "Remove Mount"
    table, called = "seat", "seat beside the mount"


CLASSES = (FENDERWRIGHT_OT_add_seat, FENDERWRIGHT_OT_fit_to_seats, FENDERWRIGHT_OT_remove_seat)
