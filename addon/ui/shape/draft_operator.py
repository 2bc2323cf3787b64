# SPDX-License-Identifier: GPL-3.0-or-later
"""The operator that proposes the least change of the cage by which the mold comes off, for the builder to accept."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.laminate.mold_drafts import mold_drafts, pulls_at
from ...core.mesh.open_surface import surface_of_quads
from ...core.shaping.open_draft import OpenedDraft, open_draft
from ...core.skin.skin import full_skin, skin
from ...core.tables.mold_rules import OPENED_DRAFT_DEG
from ...host.cage.cage_mesh import read_seat, write_points
from ..base.cage_operator import CageOperator
from ..state import session
from ..state.scene_settings import settings_of
from ..watch.live import live_step


class FENDERWRIGHT_OT_open_draft(CageOperator, bpy.types.Operator):
    """Open the sides of the cage, by as little as can be, until the part comes off its mold, as far as the clearance allows"""

    bl_idname = "fenderwright.open_draft"
    bl_label = "Open Draft"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not super().poll(context):
            return False
        state = session.of_scene(context.scene)
        if state.facts is None or state.facts.job.laminate is None:
            cls.poll_message_set("Turn the laminate on and complete the sheet first")
            return False
        if state.shaped is not None and state.shaped.clear:
            return True
        cls.poll_message_set("The cage must be watched and clear: turn Hold on, or restore the clearance")
        return False

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[Any]:
        opened = _proposal(context)
        if opened.moved == 0.0:
            return self.execute(context)
        message = f"Points move by up to {opened.moved:.1f} mm, for {opened.least_deg:.1f} deg of draft"
        confirm: Any = context.window_manager.invoke_confirm
        return set(confirm(self, event, title="Open Draft", message=message, confirm_text="Open"))

    def execute(self, context: bpy.types.Context) -> set[Any]:
        opened = _proposal(context)
        if opened.moved == 0.0:
            self.report({"INFO"}, f"The skin has {opened.least_deg:.1f} deg of draft; nothing is to be opened")
            return {"CANCELLED"}
        with session.OwnChange():
            write_points(settings_of(context.scene).cage_object, opened.cage.points)
        live_step(context.scene, budget_s=None)
        told = f"Points were moved by up to {opened.moved:.1f} mm; the skin has {opened.least_deg:.1f} deg of draft"
        if opened.enough:
            self.report({"INFO"}, told)
        else:
            self.report({"WARNING"}, f"{told}, as far as clearance and seat allow; {OPENED_DRAFT_DEG:g} were asked for")
        return {"FINISHED"}


def _proposal(context: bpy.types.Context) -> OpenedDraft:
    """The opened cage of a scene that poll has passed."""
    state, settings = session.of_scene(context.scene), settings_of(context.scene)
    shaped, facts = state.shaped, state.facts
    assert shaped is not None and facts is not None and facts.job.laminate is not None  # as poll has seen to
    own = skin(shaped.cage, shaped.stencil)
    whole = full_skin(own)
    drafts = mold_drafts(surface_of_quads(whole.points, whole.normals, whole.quads), facts.job.laminate, at_points=True)
    held = session.seat_rows(state, read_seat(settings.cage_object)) if settings.hold_seat else None
    return open_draft(shaped.cage, shaped.stencil, facts.field, pulls_at(own.points, drafts), OPENED_DRAFT_DEG, held)


CLASSES = (FENDERWRIGHT_OT_open_draft,)
