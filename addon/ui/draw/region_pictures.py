# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures over the views, made anew when what they show has changed, else only drawn."""

from __future__ import annotations

from collections.abc import Callable

import bpy

from .canvas import Canvas, CanvasPicture

_MOST_REGIONS = 16


class RegionPicture:
    """One picture over one view."""

    def __init__(self) -> None:
        self._picture = CanvasPicture()
        self._key: object = None

    def draw(self, key: object, make: Callable[[], Canvas]) -> None:
        """Draw the picture, made anew if the key, all that it depends on, is another one; for drawing handlers only."""
        if self._key != key:
            self._picture.show(make())
            self._key = key
        self._picture.draw()


class RegionPictures:
    """The pictures of all views, by region and name."""

    def __init__(self) -> None:
        self._by_region: dict[int, dict[str, RegionPicture]] = {}

    def of(self, region: bpy.types.Region, name: str) -> RegionPicture:
        """That of a region. Where there are many, those of regions that are gone are among them, and all are dropped."""
        here = region.as_pointer()
        if here not in self._by_region and len(self._by_region) >= _MOST_REGIONS:
            self._by_region.clear()
        pictures = self._by_region.setdefault(here, {})
        if name not in pictures:
            pictures[name] = RegionPicture()
        return pictures[name]
