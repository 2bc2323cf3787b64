# SPDX-License-Identifier: GPL-3.0-or-later
"""A line that was drawn as a curve object, as the job sheet holds it."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np

from ..core.base.arrays import Array
from ..core.base.errors import JobError
from ..core.trim.thinned_line import thinned_line

WITHIN = 0.02
"""How far the line of the sheet may be from the curve, mm."""

MOST_POINTS = 400
_COLUMNS = {"side": (1, 2), "top": (0, 1)}


def drawn_line(ob: bpy.types.Object, view: str) -> Array:
    """Points (k, 2) of a curve object in a view, mm; the first again at the end if it is cyclic.

    view : "side" for (y, z), "top" for (x, y), on the rider's left
    The curve is taken as drawn, without its bevel, extrusion or modifiers. Raises JobError if it is not one line.
    """
    points = _points(ob)[:, _COLUMNS[view]]
    if view == "top":
        points = points * [-1.0 if points[:, 0].sum() < 0.0 else 1.0, 1.0]
    within = WITHIN
    line = thinned_line(_without_repeats(points), within)
    while len(line) > MOST_POINTS:
        within *= 1.5
        line = thinned_line(line, within)
    if len(line) < 2:
        raise JobError(ob.name, f"is a single point in {view} view; draw a line")
    return line


def _points(ob: bpy.types.Object) -> Array:
    """(n, 3) float in wheel axes, in order."""
    ob.update_from_editmode()
    data: Any = ob.data.copy()
    data.dimensions, data.bevel_depth, data.extrude, data.offset = "3D", 0.0, 0.0, 0.0
    data.bevel_object = data.taper_object = None
    if len(data.splines) != 1:
        count = len(data.splines)
        bpy.data.curves.remove(data)
        raise JobError(ob.name, f"has {count} splines; a line of the trim is taken from one")
    plain = bpy.data.objects.new("line", data)
    try:
        mesh = plain.to_mesh()
        local = np.empty(3 * len(mesh.vertices), np.float32)
        mesh.vertices.foreach_get("co", local)
    finally:
        plain.to_mesh_clear()
        cyclic = data.splines[0].use_cyclic_u
        bpy.data.objects.remove(plain)
        bpy.data.curves.remove(data)
    placed = np.array(ob.matrix_world, np.float64)
    points = local.reshape(-1, 3).astype(np.float64) @ placed[:3, :3].T + placed[:3, 3]
    return np.concatenate([points, points[:1]]) if cyclic else points


def _without_repeats(points: Array) -> Array:
    points = np.round(points, 3)
    return np.asarray(points[np.concatenate([[True], (np.diff(points, axis=0) != 0.0).any(axis=1)])])
