# SPDX-License-Identifier: GPL-3.0-or-later
"""A scan as a mesh object, the regions marked on it, and its colors."""

from __future__ import annotations

from typing import Any, cast

import bpy
import numpy as np
from mathutils import Matrix
from numpy.typing import NDArray

from ..core.base.arrays import Array, Mask
from ..core.mesh.triangle_mesh import TriangleMesh
from ..core.scan.data.hints import REGIONS
from ..core.scan.data.scan_data import UNIT_MM, Scan, checked_scan, robust_extent
from ..core.tables.scan_colors import REGION_COLORS, UNMARKED
from .triangle_mesh_data import mesh_data, read_triangles

REGION = "fenderwright_region"
"""Integer attribute of the points: place of the region in REGIONS, counted from 1; 0 is not marked."""
NORMAL = "fenderwright_normal"
"""Attribute of the points: the normals that the file stored."""
REGION_LAYER = "Region"
RESIDUAL_LAYER = "Residual"
"""Color attributes of the points."""
BEFORE, ALIGNED = "fenderwright_before", "fenderwright_aligned"
"""Properties of the object: its matrix before it was aligned, and the one that aligning gave it."""


def make_scan_object(scan: Scan, unit: str, name: str, collection: bpy.types.Collection) -> bpy.types.Object:
    """A new mesh object that shows the scan where its file has it, times its unit in mm; bare points become bare vertices.

    The mesh is kept about its own middle and the object stands there, so that 32 bits are enough far from the origin too.
    Raises JobError if the scan cannot be worked on.
    """
    points = checked_scan(scan).points * UNIT_MM[unit]
    middle = np.round(robust_extent(points)[0])
    mesh = mesh_data(name, TriangleMesh(points - middle, scan.triangles))
    if scan.normals is not None and len(scan.triangles) == 0:
        stored: Any = mesh.attributes.new(NORMAL, "FLOAT_VECTOR", "POINT")
        stored.data.foreach_set("vector", np.ascontiguousarray(scan.normals, dtype=np.float32).ravel())
    ob = bpy.data.objects.new(name, mesh)
    if len(scan.triangles) == 0:
        ob.display_type = "BOUNDS"  # the host draws bare vertices in one color, all of them; see ui/scan_overlay
    ob.matrix_world = Matrix.Translation(middle.tolist())
    collection.objects.link(ob)
    return ob


def read_scan(ob: bpy.types.Object, matrix: Array) -> Scan:
    """The scan in an object, in object mode, with its points taken through a matrix (4, 4) float."""
    mesh = mesh_of(ob)
    triangles = read_triangles(mesh)
    turn = matrix[:3, :3]
    points = triangles.vertices @ turn.T + matrix[:3, 3]
    normals = None
    if NORMAL in mesh.attributes:
        flat = np.zeros(3 * len(points), np.float32)
        cast(Any, mesh.attributes[NORMAL]).data.foreach_get("vector", flat)
        normals = flat.reshape(-1, 3).astype(np.float64) @ np.linalg.inv(turn)
    corners = triangles.triangles
    if np.linalg.det(turn) < 0.0:  # a mirrored object shows its faces turned over
        corners = corners[:, ::-1]
    return Scan(points, corners, normals)


def mesh_of(ob: bpy.types.Object) -> bpy.types.Mesh:
    """The mesh of an object of type MESH."""
    return cast(bpy.types.Mesh, ob.data)


def region_masks(mesh: bpy.types.Mesh) -> dict[str, Mask]:
    """The marked regions in object mode: region -> (n,) True for its points; only those that hold points."""
    if REGION not in mesh.attributes:
        return {}
    values = np.zeros(len(mesh.vertices), np.int32)
    cast(Any, mesh.attributes[REGION]).data.foreach_get("value", values)
    masks = {region: np.asarray(values == number) for number, region in enumerate(REGIONS, 1)}
    return {region: mask for region, mask in masks.items() if mask.any()}


def mark_points(mesh: bpy.types.Mesh, mask: Mask, region: str | None) -> None:
    """Make the points (n,) of a mask those of a region, or of none, in object mode, and color them."""
    values = np.zeros(len(mesh.vertices), np.int32)
    attribute: Any = mesh.attributes.get(REGION) or mesh.attributes.new(REGION, "INT", "POINT")
    attribute.data.foreach_get("value", values)
    values[mask] = 0 if region is None else REGIONS.index(region) + 1
    attribute.data.foreach_set("value", values)
    palette = np.array([UNMARKED, *(REGION_COLORS[name] for name in REGIONS)], dtype=np.float32)
    colors = np.ones((len(values), 4), dtype=np.float32)
    colors[:, :3] = palette[values]
    show_colors(mesh, REGION_LAYER, colors)


def show_colors(mesh: bpy.types.Mesh, layer: str, colors: NDArray[np.float32]) -> None:
    """Give the points colors (n, 4), sRGB, in a color attribute, and make it the one that is shown."""
    attribute: Any = mesh.color_attributes.get(layer) or mesh.color_attributes.new(layer, "BYTE_COLOR", "POINT")
    attribute.data.foreach_set("color_srgb", np.ascontiguousarray(colors).ravel())
    mesh.color_attributes.active_color = attribute
    mesh.update_tag()


def shown_matrix(ob: bpy.types.Object) -> Array:
    """The matrix (4, 4) of an object in the scene."""
    return np.array(ob.matrix_world, dtype=np.float64)


def matrix_before(ob: bpy.types.Object) -> Array | None:
    """The matrix that an object had before it was aligned; None if it was not, or was moved since."""
    if ob.get(BEFORE) is None or ob.get(ALIGNED) is None:
        return None
    if not np.allclose(shown_matrix(ob), _kept(ob, ALIGNED), rtol=0.0, atol=1e-4):
        return None
    return _kept(ob, BEFORE)


def place_aligned(ob: bpy.types.Object, before: Array, aligned: Array) -> None:
    """Move an object to where aligning puts it, and keep where it was."""
    ob.matrix_world = Matrix(aligned.tolist())
    ob[BEFORE] = before.ravel().tolist()
    ob[ALIGNED] = np.array(ob.matrix_world, dtype=np.float64).ravel().tolist()


def place_back(ob: bpy.types.Object) -> None:
    """Move an object back to where it was before it was aligned. It must have been."""
    ob.matrix_world = Matrix(_kept(ob, BEFORE).tolist())
    del ob[BEFORE], ob[ALIGNED]


def _kept(ob: bpy.types.Object, name: str) -> Array:
    return np.array(ob[name][:], dtype=np.float64).reshape(4, 4)
