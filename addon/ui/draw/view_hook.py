# SPDX-License-Identifier: GPL-3.0-or-later
"""What is drawn with each 3D view, and what it keeps from one drawing to the next."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, Literal, TypeVar

import bpy

Kept = TypeVar("Kept")


class ViewHook(Generic[Kept]):
    """Draws with each 3D view.

    draw : draws it, with what is kept; make : what is kept at the beginning, such as what lies on the graphics processor
    stage : of the host's drawing, in the scene or in pixels over it
    """

    def __init__(self, draw: Callable[[Kept], None], make: Callable[[], Kept], stage: Literal["POST_VIEW", "POST_PIXEL"]) -> None:
        self._draw, self._make, self._stage = draw, make, stage
        self._handle: Any = None
        self.kept = make()

    @property
    def is_hung(self) -> bool:
        """True while the host calls it."""
        return self._handle is not None

    def register(self) -> None:
        self._handle = bpy.types.SpaceView3D.draw_handler_add(lambda: self._draw(self.kept), (), "WINDOW", self._stage)

    def unregister(self) -> None:
        """Take the handler back, and what is kept with it."""
        bpy.types.SpaceView3D.draw_handler_remove(self._handle, "WINDOW")
        self._handle = None
        self.kept = self._make()
