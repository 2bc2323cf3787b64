# SPDX-License-Identifier: GPL-3.0-or-later
"""Scans of bare points in the 3D view, in their colors; the host itself would draw bare vertices in one color."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, cast

import bpy
import gpu
import numpy as np
from gpu_extras.batch import batch_for_shader

from ...core.tables.scan_colors import UNMARKED
from ...host.scan_object import mesh_of
from ..draw.drawing_state import drawing_state
from ..draw.view_hook import ViewHook
from .scan_properties import scan_settings

MOST_DRAWN = 400_000
"""Of more points, evenly chosen ones are drawn, so that turning the view stays smooth."""
POINT_PIXELS = 2.0
STAMP = "fenderwright_scan_stamp"
"""Property of the object that changes with its colors, and goes back with them at undo."""


@dataclass(eq=False)
class _Drawn:
    batch: Any = None
    key: object = None


def mark_scan_changed(ob: bpy.types.Object) -> None:
    """The colors of a scan are others; also called when there is a new scan."""
    stamps = {other.get(STAMP, 0) for other in bpy.data.objects}
    ob[STAMP] = max(stamps) + 1
    _HOOK.kept.key = None


def drawn_points(mesh: bpy.types.Mesh) -> tuple[Any, Any]:
    """Positions (m, 3) and colors (m, 4) in linear light of at most MOST_DRAWN points of a mesh in object mode."""
    count = len(mesh.vertices)
    positions = np.zeros(3 * count, np.float32)
    attribute: Any = mesh.attributes["position"]
    attribute.data.foreach_get("vector", positions)
    layer: Any = mesh.color_attributes.active_color
    colors = np.ones((count, 4), np.float32)
    if layer is not None and layer.domain == "POINT":
        layer.data.foreach_get("color", colors.reshape(-1))
    else:
        colors[:, :3] = np.array(UNMARKED, np.float32) ** 2.2
    step = max(-(-count // MOST_DRAWN), 1)
    return positions.reshape(-1, 3)[::step], colors[::step]


def _draw(drawn: _Drawn) -> None:
    context = bpy.context
    space: Any = context.space_data
    ob = scan_settings(context.scene).scan_object
    if ob is None or not space.overlay.show_overlays or not ob.visible_get(viewport=space):
        return
    mesh = mesh_of(ob)
    if ob.mode == "EDIT":
        drawn.key = None  # what is marked now is seen once edit mode is left
        return
    if len(mesh.polygons) or not len(mesh.vertices):
        return
    key = (ob.session_uid, mesh.session_uid, ob.get(STAMP, 0), len(mesh.vertices))
    shader = gpu.shader.from_builtin("POINT_FLAT_COLOR")
    if drawn.key != key:
        positions, colors = drawn_points(mesh)
        drawn.batch, drawn.key = batch_for_shader(shader, "POINTS", {"pos": positions, "color": colors}), key
    gpu.state.point_size_set(POINT_PIXELS * context.preferences.system.ui_scale)
    try:
        with drawing_state(hides_what_is_behind=True), cast(Any, gpu.matrix.push_pop()):
            gpu.matrix.multiply_matrix(ob.matrix_world)
            drawn.batch.draw(shader)
    finally:
        gpu.state.point_size_set(1.0)


_HOOK = ViewHook(_draw, _Drawn, "POST_VIEW")
register, unregister = _HOOK.register, _HOOK.unregister
