# SPDX-License-Identifier: GPL-3.0-or-later
"""Everything that the host is told about the extension, in one ordered list, taken back in the opposite order."""

from __future__ import annotations

import bpy

from .safety_panel import FENDERWRIGHT_PT_safety

CLASSES: tuple[type, ...] = (FENDERWRIGHT_PT_safety,)


def register() -> None:
    for cls in CLASSES:
        bpy.utils.register_class(cls)


def unregister() -> None:
    for cls in reversed(CLASSES):
        bpy.utils.unregister_class(cls)
