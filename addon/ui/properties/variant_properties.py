# SPDX-License-Identifier: GPL-3.0-or-later
"""Variants that a scene keeps."""

from __future__ import annotations

import bpy


class FENDERWRIGHT_PG_Variant(bpy.types.PropertyGroup):
    """A kept shape: the sheet of its job as JSON, its cage, and what its last comparison told."""

    name: bpy.props.StringProperty(name="Name", description="Name of the variant, which its folder carries")  # type: ignore[valid-type]
    sheet: bpy.props.StringProperty(name="Sheet", description="Job sheet of the variant", options={"HIDDEN"})  # type: ignore[valid-type]
    told: bpy.props.StringProperty(name="Told", description="Figures of the variant", options={"HIDDEN"})  # type: ignore[valid-type]
    cage: bpy.props.PointerProperty(name="Cage", description="Cage of the variant", type=bpy.types.Object)  # type: ignore[valid-type]


CLASSES = (FENDERWRIGHT_PG_Variant,)
