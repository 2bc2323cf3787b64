# SPDX-License-Identifier: GPL-3.0-or-later
"""The part of a 3D view that the host's own bars, panels and texts leave free."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import bpy

_EDGE = 12.0
_TEXT_LINE = 19.0
_TEXT_LINES, _STATISTICS_LINES = 2, 8
"""Lines of the host's text in the upper left corner: name of the view and of the object; statistics."""
_BARS = {"HEADER", "TOOL_HEADER", "ASSET_SHELF", "ASSET_SHELF_HEADER"}
_SIDES = {"TOOLS", "UI"}


@dataclass(frozen=True)
class CanvasRoom:
    """Pixels of the region. left, right, low, high : what is free; text_top : under the host's text on the left

    unit : pixels of one unit of the interface
    """

    left: float
    right: float
    low: float
    high: float
    text_top: float
    unit: float


def canvas_room(context: bpy.types.Context) -> CanvasRoom:
    """The room in the region that is being drawn; regions lie over it or beside it, as the host is set."""
    region = context.region
    space: Any = context.space_data
    unit = float(context.preferences.system.ui_scale)
    left, right, low, high = 0.0, float(region.width), 0.0, float(region.height)
    for other in context.area.regions:
        x, y = other.x - region.x, other.y - region.y
        if other.width <= 1 or other.height <= 1:
            continue
        if other.type in _SIDES and x + other.width < 0.5 * region.width:
            left = max(left, x + other.width)
        elif other.type in _SIDES and x > 0.5 * region.width:
            right = min(right, x)
        elif other.type in _BARS and y + other.height < 0.5 * region.height:
            low = max(low, y + other.height)
        elif other.type in _BARS and y > 0.5 * region.height:
            high = min(high, y)
    overlay = space.overlay
    lines = _TEXT_LINES * overlay.show_text + _STATISTICS_LINES * overlay.show_stats
    edge = _EDGE * unit
    text_top = high - edge - lines * _TEXT_LINE * unit
    return CanvasRoom(left + edge, right - edge, low + edge, high - edge, text_top, unit)
