# SPDX-License-Identifier: GPL-3.0-or-later
"""The two modifiers that turn a cage into its skin: Mirror, then Subdivision Surface."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import bpy

from ...core.base.tolerances import TOLERANCES

MIRROR = "MIRROR"
SUBDIVISION = "SUBSURF"
LABELS = {MIRROR: "Mirror", SUBDIVISION: "Subdivision Surface"}

_MIRROR_SETTINGS: dict[str, object] = {
    "use_axis": (True, False, False),
    "use_bisect_axis": (False, False, False),
    "use_mirror_merge": True,
    "mirror_object": None,
    "use_clip": True,
    "show_viewport": True,
    "show_in_editmode": True,
}
_SUBDIVISION_SETTINGS: dict[str, object] = {
    "subdivision_type": "CATMULL_CLARK",
    "use_limit_surface": True,
    "quality": 3,
    "show_viewport": True,
    "show_in_editmode": True,
}
_KEEP_THE_SHAPE = {
    "DATA_TRANSFER",
    "NORMAL_EDIT",
    "UV_PROJECT",
    "UV_WARP",
    "VERTEX_WEIGHT_EDIT",
    "VERTEX_WEIGHT_MIX",
    "VERTEX_WEIGHT_PROXIMITY",
    "WEIGHTED_NORMAL",
}
"""Kinds of modifiers that move no point and make no face."""
_SETTINGS = {MIRROR: _MIRROR_SETTINGS, SUBDIVISION: _SUBDIVISION_SETTINGS}


@dataclass(frozen=True)
class CageModifiers:
    """What the modifiers of an object make of its mesh.

    mirrored : the half is mirrored; merge_within : points closer to their image than this become one with it, mm, 0 if none do
    keep_corners, use_creases : as set in the Subdivision Surface modifier; level : its level in the viewport, 0 without one
    """

    mirrored: bool
    merge_within: float
    keep_corners: bool
    use_creases: bool
    level: int


def cage_modifiers(ob: bpy.types.Object) -> CageModifiers:
    """The settings that are at work on an object now."""
    mirror: bpy.types.MirrorModifier | None = modifier_of(ob, MIRROR)
    subdivision: bpy.types.SubsurfModifier | None = modifier_of(ob, SUBDIVISION)
    mirrored = mirror is not None and mirror.show_viewport and mirror.use_axis[0]
    return CageModifiers(
        mirrored=mirrored,
        merge_within=mirror.merge_threshold if mirrored and mirror.use_mirror_merge else 0.0,
        keep_corners=subdivision is not None and subdivision.boundary_smooth == "PRESERVE_CORNERS",
        use_creases=subdivision is None or subdivision.use_creases,
        level=subdivision.levels if subdivision is not None and subdivision.show_viewport else 0,
    )


def add_cage_modifiers(ob: bpy.types.Object, level: int, *, mirrored: bool = True, keep_corners: bool = False) -> None:
    """Give a new cage object its modifiers. level : of the skin shown and of the skin that is rendered."""
    if mirrored:
        _create(ob, MIRROR)
    subdivision: bpy.types.SubsurfModifier = _create(ob, SUBDIVISION)
    subdivision.levels = subdivision.render_levels = level
    subdivision.boundary_smooth = "PRESERVE_CORNERS" if keep_corners else "ALL"


def modifier_of(ob: bpy.types.Object, kind: str) -> Any:
    """The first modifier of a kind, or None."""
    return next((modifier for modifier in ob.modifiers if modifier.type == kind), None)


def modifiers_behind(ob: bpy.types.Object) -> list[Any]:
    """The modifiers behind the Subdivision Surface that are at work and move what is shown."""
    items = list(ob.modifiers)
    subdivision = modifier_of(ob, SUBDIVISION)
    first = items.index(subdivision) + 1 if subdivision is not None else 0
    own = [modifier_of(ob, kind) for kind in LABELS]
    return [item for item in items[first:] if item not in own and item.show_viewport and item.type not in _KEEP_THE_SHAPE]


def wrong_settings(modifier: Any) -> tuple[str, ...]:
    """Labels of the settings that a cage needs otherwise."""
    wanted = _SETTINGS[modifier.type].items()
    wrong = [modifier.bl_rna.properties[name].name for name, value in wanted if _value(modifier, name) != value]
    if modifier.type == SUBDIVISION and not 1 <= modifier.levels <= 6:
        wrong.append(modifier.bl_rna.properties["levels"].name)
    return tuple(wrong)


def restore_cage_modifiers(ob: bpy.types.Object, level: int) -> None:
    """Bring both modifiers back to the front, in order, with the settings that a cage needs.

    Others stay, behind them. level : used where the Subdivision Surface modifier is missing or its level out of range.
    """
    for place, kind in enumerate((MIRROR, SUBDIVISION)):
        modifier = modifier_of(ob, kind)
        if modifier is None:
            modifier = _create(ob, kind)
            if kind == SUBDIVISION:
                modifier.levels = modifier.render_levels = level
        for name, value in _SETTINGS[kind].items():
            if _value(modifier, name) != value:
                setattr(modifier, name, value)
        if kind == SUBDIVISION and not 1 <= modifier.levels <= 6:
            modifier.levels = level
        ob.modifiers.move(ob.modifiers.find(modifier.name), place)


def _create(ob: bpy.types.Object, kind: Any) -> Any:
    modifier: Any = ob.modifiers.new(LABELS[kind], kind)
    for name, value in _SETTINGS[kind].items():
        setattr(modifier, name, value)
    if kind == MIRROR:
        modifier.merge_threshold = 2.0 * TOLERANCES.on_plane
    return modifier


def _value(modifier: Any, name: str) -> object:
    value = getattr(modifier, name)
    return tuple(value) if name.endswith("_axis") else value
