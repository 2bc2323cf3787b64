# SPDX-License-Identifier: GPL-3.0-or-later
"""A scene that leaves nothing behind."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import bpy

_KINDS = ("objects", "meshes", "curves", "cameras", "materials", "worlds", "scenes")


@contextmanager
def temporary_scene(name: str) -> Iterator[bpy.types.Scene]:
    """A new scene; it and every data block made while it is there are removed at the end."""
    before = {kind: {block.session_uid for block in getattr(bpy.data, kind)} for kind in _KINDS}
    try:
        yield bpy.data.scenes.new(name)
    finally:
        for kind in _KINDS:
            blocks = getattr(bpy.data, kind)
            for block in [block for block in blocks if block.session_uid not in before[kind]]:
                blocks.remove(block)
