# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators of long work: from a button they go step by step, are shown and can be given up; from a script they run at once."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.base.errors import CageError, JobError, ShapeError
from ...pipeline.steps import Steps
from ..state import session

REFUSALS = (CageError, JobError, ShapeError, OSError)
"""What steps may raise with a sentence for the builder."""
_PAUSE_S = 0.01
"""Between steps, so that the host draws and hears the keys."""


class StepOperator:
    """For operators whose work is `steps`. While it goes on, keys and mouse do nothing but Esc, so that the cage stays."""

    step_count: int
    """Of steps, about, for the progress shown at the cursor."""
    _timer: Any = None

    def steps(self, context: bpy.types.Context) -> Steps[str]:
        """The work; returns the sentence that is reported at its end. Raises REFUSALS."""
        raise TypeError(f"{type(self).__name__} has no steps")

    def execute(self, context: bpy.types.Context) -> set[Any]:
        self._begin(context)
        outcome: set[Any] | None = None
        try:
            while outcome is None:
                outcome = self._advance(context)
        finally:
            self._end(context)
        return outcome

    def begin_stepping(self, context: bpy.types.Context) -> set[Any]:
        """What `invoke` returns to go step by step; without a window all is done at once."""
        if bpy.app.background:
            return self.execute(context)
        self._begin(context)
        self._timer = context.window_manager.event_timer_add(_PAUSE_S, window=context.window)
        context.window_manager.modal_handler_add(self)  # type: ignore[arg-type]
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> set[Any]:
        outcome: set[Any] | None = None
        try:
            if event.type == "ESC":
                self.report({"INFO"}, "Canceled, nothing is changed")  # type: ignore[attr-defined]
                outcome = {"CANCELLED"}
            elif event.type == "TIMER":
                outcome = self._advance(context)
        except BaseException:
            self._end(context)
            raise
        if outcome is None:
            return {"RUNNING_MODAL"}
        self._end(context)
        return outcome

    def cancel(self, context: bpy.types.Context) -> None:
        """The host ends it, as when another file is loaded."""
        self._end(context)

    def _begin(self, context: bpy.types.Context) -> None:
        self._steps = self.steps(context)
        self._done = 0
        self._timer = None
        context.window_manager.progress_begin(0, self.step_count)

    def _advance(self, context: bpy.types.Context) -> set[Any] | None:
        """One step; what the operator returns if it was the last."""
        try:
            said = next(self._steps)
        except StopIteration as end:
            self.report({"INFO"}, end.value)  # type: ignore[attr-defined]
            return {"FINISHED"}
        except REFUSALS as error:
            self.report({"ERROR"}, str(error))  # type: ignore[attr-defined]
            session.mark_trouble(context.scene, error)
            session.redraw_views()
            return {"CANCELLED"}
        self._done += 1
        context.window_manager.progress_update(min(self._done, self.step_count))
        if self._timer is not None:
            context.workspace.status_text_set(f"{said} ({min(self._done, self.step_count)} of {self.step_count}), Esc to give up")
        return None

    def _end(self, context: bpy.types.Context) -> None:
        """Close the steps, which takes back what they began, and let go of the window."""
        self._steps.close()
        context.window_manager.progress_end()
        if self._timer is not None:
            context.window_manager.event_timer_remove(self._timer)
            self._timer = None
            context.workspace.status_text_set(None)
