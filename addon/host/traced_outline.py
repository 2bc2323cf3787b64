# SPDX-License-Identifier: GPL-3.0-or-later
"""A line that was traced over a reference image, and places marked on it, in pixels of the image."""

from __future__ import annotations

import bpy
import numpy as np
from numpy.typing import ArrayLike

from ..core.base.arrays import Array
from ..core.base.errors import JobError

KEY = "Traced Outline"
_FLAT_SHARE = 0.02
"""How far a trace may stand off the picture, as a part of the picture's larger side."""


def traced_points(trace: bpy.types.Object, depsgraph: bpy.types.Depsgraph) -> Array:
    """(n, 3) float, world: the points of a curve as the host resolves it, or of a mesh with its modifiers.

    Raises JobError if the object is neither, or has faces: a trace is a line.
    """
    if trace.type not in ("CURVE", "MESH"):
        raise JobError(KEY, f"{trace.name} is neither a curve nor a mesh; trace the outline with one of them")
    evaluated = trace.evaluated_get(depsgraph)
    mesh = evaluated.to_mesh()
    try:
        if len(mesh.polygons):
            raise JobError(
                KEY, f"{trace.name} has faces; trace the outline by a line of edges, or a curve without bevel, extrusion and fill"
            )
        flat = np.zeros(3 * len(mesh.vertices), np.float32)
        mesh.vertices.foreach_get("co", flat)
    finally:
        evaluated.to_mesh_clear()
    place = np.array(evaluated.matrix_world, dtype=np.float64)
    points: Array = flat.reshape(-1, 3).astype(np.float64) @ place[:3, :3].T + place[:3, 3]
    return points


def picture_pixels(picture: bpy.types.Object, points: ArrayLike, what: str) -> Array:
    """Points in the plane of a reference image, as (n, 2) float, pixels (right, down) from its middle.

    picture : empty that shows an image. points : (n, 3) float, world
    Raises JobError if it shows no image, is scaled to nothing, or a point stands off it.
    """
    image = picture.data
    if picture.type != "EMPTY" or not isinstance(image, bpy.types.Image) or not all(image.size):
        raise JobError(KEY, f"{picture.name} is no reference image; choose the empty that shows the photograph")
    place = np.array(picture.matrix_world, dtype=np.float64)
    if abs(np.linalg.det(place[:3, :3])) < 1e-12:
        raise JobError(KEY, f"{picture.name} is scaled to nothing; give it a size")
    local = (np.asarray(points, dtype=np.float64).reshape(-1, 3) - place[:3, 3]) @ np.linalg.inv(place[:3, :3]).T
    off = float(np.abs(local[:, 2]).max(initial=0.0)) / picture.empty_display_size
    if off > _FLAT_SHARE:
        raise JobError(
            KEY,
            f"{what} stands off {picture.name} by {100.0 * off:.0f} % of its size; it must lie in the picture's plane, within "
            f"{100.0 * _FLAT_SHARE:.0f} %",
        )
    # The host shows the larger side of the image as long as the empty's size.
    pixels: Array = local[:, :2] * [1.0, -1.0] * (max(image.size) / picture.empty_display_size)
    return pixels
