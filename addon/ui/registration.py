# SPDX-License-Identifier: GPL-3.0-or-later
"""Everything that the host is told about the extension, in one ordered list, taken back in the opposite order."""

from __future__ import annotations

import bpy

from . import finish_operators, handlers, job_panels, shape_operators, sheet_operators
from .job_properties import FENDERWRIGHT_PG_Pair, FENDERWRIGHT_PG_Word
from .safety_panel import FENDERWRIGHT_PT_safety
from .settings import KEEPOUT_CLASS, SECTION_CLASSES, FENDERWRIGHT_PG_Settings

CLASSES: tuple[type, ...] = (
    FENDERWRIGHT_PG_Pair,
    FENDERWRIGHT_PG_Word,
    *SECTION_CLASSES.values(),
    KEEPOUT_CLASS,
    FENDERWRIGHT_PG_Settings,
    *sheet_operators.CLASSES,
    *shape_operators.CLASSES,
    *finish_operators.CLASSES,
    *job_panels.CLASSES,
    FENDERWRIGHT_PT_safety,
)


def register() -> None:
    for cls in CLASSES:
        bpy.utils.register_class(cls)
    bpy.types.Scene.fenderwright = bpy.props.PointerProperty(  # type: ignore[attr-defined]
        name="Fenderwright", description="Job and shaping of this scene", type=FENDERWRIGHT_PG_Settings
    )
    handlers.register()


def unregister() -> None:
    handlers.unregister()
    del bpy.types.Scene.fenderwright  # type: ignore[attr-defined]
    for cls in reversed(CLASSES):
        bpy.utils.unregister_class(cls)
