# SPDX-License-Identifier: GPL-3.0-or-later
"""What the extension keeps in a scene."""

from __future__ import annotations

from typing import Any

import bpy


def settings_of(scene: bpy.types.Scene) -> Any:
    """The extension's settings of a scene."""
    return scene.fenderwright  # type: ignore[attr-defined]
