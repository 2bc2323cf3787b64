# SPDX-License-Identifier: GPL-3.0-or-later
"""The tables of the job sheet in the panels, such as its keep-outs: named rows, of which one is shown."""

from __future__ import annotations

from typing import Any

import bpy

from ..state import session
from ..state.scene_settings import settings_of


def active_row(settings: Any, table: str) -> Any:
    """The row of a table that is shown, or None. table : of the sheet, such as "keepout"."""
    rows, active = getattr(settings, f"{table}s"), getattr(settings, f"active_{table}")
    return rows[active] if active < len(rows) else None


def add_row(settings: Any, table: str, called: str) -> Any:
    """A new row that is shown. called : what a row is, which gets the first free number for a name."""
    rows = getattr(settings, f"{table}s")
    used = {row.name for row in rows}
    row = rows.add()
    row.name = next(name for name in (f"{called} {i}" for i in range(1, len(used) + 2)) if name not in used)
    setattr(settings, f"active_{table}", len(rows) - 1)
    return row


class RowOperator:
    """For operators that need a row of a table. table : of the sheet; called : what a row is."""

    bl_options = {"REGISTER", "UNDO"}
    table: str
    called: str

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if context.scene is not None and active_row(settings_of(context.scene), cls.table) is not None:
            return True
        cls.poll_message_set(f"There is no {cls.called}")  # type: ignore[attr-defined]
        return False


class RemoveRowOperator(RowOperator):
    """For operators that remove the row that is shown."""

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        rows, active = getattr(settings, f"{self.table}s"), f"active_{self.table}"
        rows.remove(getattr(settings, active))
        setattr(settings, active, max(0, min(getattr(settings, active), len(rows) - 1)))
        session.mark_job_changed(context.scene)
        return {"FINISHED"}
