# SPDX-License-Identifier: GPL-3.0-or-later
"""Cages beside the one that is watched."""

from __future__ import annotations

import bpy

from .cage_mesh import SEAT


def cages_in_hand(view_layer: bpy.types.ViewLayer, watched: bpy.types.Object | None) -> tuple[str, ...]:
    """Names of cages other than the watched one that are active or being edited: copies, former ones, linked duplicates."""
    active = view_layer.objects.active
    in_hand = [] if active is None else [active]
    if active is not None and active.mode != "OBJECT":
        in_hand += [ob for ob in view_layer.objects if ob.mode != "OBJECT" and ob != active]
    return tuple(ob.name for ob in in_hand if ob != watched and _is_cage(ob))


def _is_cage(ob: bpy.types.Object) -> bool:
    return isinstance(ob.data, bpy.types.Mesh) and SEAT in ob.data.attributes and ob.visible_get()
