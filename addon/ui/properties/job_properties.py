# SPDX-License-Identifier: GPL-3.0-or-later
"""The job sheet as properties of the scene, made from the sheet's own description, so that each rule stands once."""

from __future__ import annotations

from dataclasses import MISSING, Field, fields
from typing import Any

import bpy

from ...core.job import sheet_keys
from ...core.tables.laminates import PLIES
from ..state import session
from ..state.job_values import is_optional, switch
from .job_labels import CHOICES, LABELS

Update = Any
"""A function (self, context) that the host calls after a change."""


def _entry_changed(entry: Any, context: bpy.types.Context) -> None:
    """The entry belongs to the job of its scene."""
    session.mark_job_changed(entry.id_data)


class FENDERWRIGHT_PG_Pair(bpy.types.PropertyGroup):
    """Two numbers of a list, such as a bolt."""

    value: bpy.props.FloatVectorProperty(  # type: ignore[valid-type]
        name="Value", description="Two lengths in mm", size=2, precision=2, step=50, update=_entry_changed
    )


class FENDERWRIGHT_PG_Ply(bpy.types.PropertyGroup):
    """One layer of the laminate."""

    value: bpy.props.EnumProperty(  # type: ignore[valid-type]
        name="Ply",
        description="Kind of fiber and its weight in grams a square meter",
        items=[(name, " ".join(word[0].upper() + word[1:] for word in name.split()), "") for name in PLIES],
        default="CSM 450",
        update=_entry_changed,
    )


def section_class(section: str, owner: type[Any], update: Update) -> type[bpy.types.PropertyGroup]:
    """The property group of one section of the sheet."""
    annotations: dict[str, Any] = {}
    for item in fields(owner):
        key = f"{section}.{item.name}"
        label, tooltip = LABELS[key]
        annotations[item.name] = _property(item, label, tooltip, update)
        if is_optional(section, item):
            annotations[switch(item.name)] = bpy.props.BoolProperty(
                name=f"Use {label}", description=f"State a value of your own: {tooltip[0].lower()}{tooltip[1:]}", update=update
            )
    name = f"FENDERWRIGHT_PG_{owner.__name__}"
    return type(
        name, (bpy.types.PropertyGroup,), {"__annotations__": annotations, "__doc__": owner.__doc__, "__module__": __name__}
    )


def _property(item: Field[Any], label: str, tooltip: str, update: Update) -> Any:
    kind = item.metadata["kind"]
    default = None if item.default is MISSING else item.default
    common: dict[str, Any] = {"name": label, "description": tooltip, "update": update}
    match kind:
        case sheet_keys.Number():
            return bpy.props.FloatProperty(**common, default=default or 0.0, precision=2, step=50)
        case sheet_keys.Whole():
            return bpy.props.IntProperty(**common, default=default or kind.low, min=kind.low, max=kind.high)
        case sheet_keys.Text():
            return bpy.props.StringProperty(**common, default=default or "")
        case sheet_keys.Choice():
            items = [(word, CHOICES.get(word, word), "") for word in kind.words]
            return bpy.props.EnumProperty(**common, items=items, default=default or kind.words[0])
        case sheet_keys.Numbers():
            return bpy.props.FloatVectorProperty(
                **common, size=kind.count, default=default or (0.0,) * kind.count, precision=2, step=50
            )
        case sheet_keys.ForwardAndRearward():
            return bpy.props.FloatVectorProperty(**common, size=2, default=default or (0.0, 0.0), precision=2, step=50)
        case sheet_keys.Items(of=sheet_keys.Numbers(count=2)):
            return bpy.props.CollectionProperty(name=label, description=tooltip, type=FENDERWRIGHT_PG_Pair)
        case sheet_keys.Items(of=sheet_keys.Choice(words=words)) if set(words) == set(PLIES):
            return bpy.props.CollectionProperty(name=label, description=tooltip, type=FENDERWRIGHT_PG_Ply)
    raise TypeError(f"{item.name}: no property for {kind!r}")
