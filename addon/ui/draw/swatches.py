# SPDX-License-Identifier: GPL-3.0-or-later
"""Small squares of plain color for panels, as the host has none."""

from __future__ import annotations

from typing import Any

import bpy.utils.previews

from ...core.tables.scan_colors import Color

SIZE = 16


class _Swatches:
    """The host's collection of pictures, while the extension is registered."""

    pictures: Any = None


def swatch(color: Color) -> int:
    """Icon number of a square of an sRGB color; 0, no icon, where the host makes no pictures."""
    pictures = _Swatches.pictures
    name = "{:.3f} {:.3f} {:.3f}".format(*color)
    if name not in pictures:
        picture = pictures.new(name)
        picture.icon_size = (SIZE, SIZE)
        picture.icon_pixels_float = [*color, 1.0] * SIZE**2
    return int(pictures[name].icon_id)


def register() -> None:
    _Swatches.pictures = bpy.utils.previews.new()


def unregister() -> None:
    bpy.utils.previews.remove(_Swatches.pictures)
    _Swatches.pictures = None
