# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that write files into a folder that the builder chooses, step by step."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy

from ...core.base.errors import JobError
from .step_operator import StepOperator


class FolderOperator(StepOperator):
    """For StepOperators whose steps write into `folder`; a button asks for it, a script gives `directory`."""

    directory: bpy.props.StringProperty(  # type: ignore[valid-type]
        name="Folder", description="Folder that the files are written into", subtype="DIR_PATH", options={"SKIP_SAVE"}
    )

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[Any]:
        if self.directory:
            return self.begin_stepping(context)
        context.window_manager.fileselect_add(self)  # type: ignore[arg-type]
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> set[Any]:
        if self.options.is_invoke and not bpy.app.background:  # type: ignore[attr-defined]
            # the file browser calls this, and frees the operator afterwards: what goes step by step is another one
            module, name = type(self).bl_idname.split(".")  # type: ignore[attr-defined]
            again: Any = getattr(getattr(bpy.ops, module), name)
            outcome: set[Any] = again("INVOKE_DEFAULT", directory=self.directory)
            return outcome
        return super().execute(context)

    @property
    def folder(self) -> Path:
        """The folder. Raises JobError if none is named."""
        if not self.directory:
            raise JobError("Folder", "is empty; name the folder that the files are to be written into")
        return Path(bpy.path.abspath(self.directory))
