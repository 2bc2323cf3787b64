# SPDX-License-Identifier: GPL-3.0-or-later
"""Everything that the host is told about the extension, in one ordered list, taken back in the opposite order."""

from __future__ import annotations

import bpy

from .draw import swatches
from .finish import (
    coverage_panel,
    finish_operators,
    laminate_panel,
    line_operators,
    metal_panel,
    print_panel,
    stiffness_panel,
    variant_operators,
    variant_panel,
)
from .finish.safety_panel import FENDERWRIGHT_PT_safety
from .gauges import gauge_operators, gauge_panels
from .measure import job_panels, profile_operators, reading_operators, reading_overlay, reading_panels, sheet_operators
from .mount import seat_operators, seat_panel, trim_operators, trim_overlay, trim_panel, wall_operators
from .properties import gauge_properties, reading_properties, variant_properties
from .properties.job_properties import FENDERWRIGHT_PG_Pair, FENDERWRIGHT_PG_Ply
from .properties.settings import SECTION_CLASSES, TABLE_CLASSES, FENDERWRIGHT_PG_Settings
from .scan import align_operators, scan_operators, scan_overlay, scan_panel, scan_properties
from .shape import (
    cursor_gizmo,
    draft_operator,
    half_operator,
    map_operator,
    map_overlay,
    pose_panel,
    shape_operators,
    shaping_panel,
    trouble_overlay,
    view_overlay,
)
from .watch import catch_up_timer, handlers, rest_timer

CLASSES: tuple[type, ...] = (
    FENDERWRIGHT_PG_Pair,
    FENDERWRIGHT_PG_Ply,
    *SECTION_CLASSES.values(),
    *TABLE_CLASSES.values(),
    *reading_properties.CLASSES,
    *gauge_properties.CLASSES,
    *variant_properties.CLASSES,
    FENDERWRIGHT_PG_Settings,
    *scan_properties.CLASSES,
    *sheet_operators.CLASSES,
    *seat_operators.CLASSES,
    *wall_operators.CLASSES,
    *trim_operators.CLASSES,
    *scan_operators.CLASSES,
    *align_operators.CLASSES,
    *reading_operators.CLASSES,
    *profile_operators.CLASSES,
    *gauge_operators.CLASSES,
    *shape_operators.CLASSES,
    *half_operator.CLASSES,
    *map_operator.CLASSES,
    *draft_operator.CLASSES,
    *finish_operators.CLASSES,
    *variant_operators.CLASSES,
    *job_panels.CLASSES,
    *seat_panel.CLASSES,
    *trim_panel.CLASSES,
    *laminate_panel.CLASSES,
    *print_panel.CLASSES,
    *stiffness_panel.CLASSES,
    *coverage_panel.CLASSES,
    *metal_panel.CLASSES,
    *variant_panel.CLASSES,
    *scan_panel.CLASSES,
    *reading_panels.CLASSES,
    *gauge_panels.CLASSES,
    *shaping_panel.CLASSES,
    *line_operators.CLASSES,
    *pose_panel.CLASSES,
    *cursor_gizmo.CLASSES,
    FENDERWRIGHT_PT_safety,
)

_HOOKED = (
    swatches,
    scan_properties,
    scan_overlay,
    shaping_panel,
    map_overlay,
    trim_overlay,
    view_overlay,
    trouble_overlay,
    reading_overlay,
    rest_timer,
    catch_up_timer,
    handlers,
)
"""Modules that hang something of theirs on the host."""


def register() -> None:
    for cls in CLASSES:
        bpy.utils.register_class(cls)
    bpy.types.Scene.fenderwright = bpy.props.PointerProperty(  # type: ignore[attr-defined]
        name="Fenderwright", description="Job and shaping of this scene", type=FENDERWRIGHT_PG_Settings
    )
    for module in _HOOKED:
        module.register()


def unregister() -> None:
    for module in reversed(_HOOKED):
        module.unregister()
    del bpy.types.Scene.fenderwright  # type: ignore[attr-defined]
    for cls in reversed(CLASSES):
        bpy.utils.unregister_class(cls)
