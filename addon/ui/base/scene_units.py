# SPDX-License-Identifier: GPL-3.0-or-later
"""Units of a scene."""

from __future__ import annotations

import bpy


def set_units(scene: bpy.types.Scene) -> None:
    """One unit of the host is one millimeter."""
    scene.unit_settings.system = "METRIC"
    scene.unit_settings.scale_length = 0.001
    scene.unit_settings.length_unit = "MILLIMETERS"
