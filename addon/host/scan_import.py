# SPDX-License-Identifier: GPL-3.0-or-later
"""Scans from files: PLY and STL by our own readers, OBJ and glTF by the host's importers."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
import numpy as np

from ..core.base.arrays import Array, Index
from ..core.base.errors import JobError
from ..core.scan.data.read_ply import read_ply
from ..core.scan.data.read_stl import read_stl
from ..core.scan.data.scan_data import Scan

SUFFIXES = (".ply", ".stl", ".obj", ".gltf", ".glb")


def import_scan(path: Path) -> Scan:
    """The scan in a file, in the file's own coordinates: no axes are turned and no unit is applied.

    Raises JobError if the file is missing, has another suffix or holds no points.
    The scene is left as it was: what the host imports is taken out of it again.
    """
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise JobError(path.name, f"suffix {suffix or 'missing'}, allowed are {', '.join(SUFFIXES)}")
    if not path.is_file():
        raise JobError(str(path), "no such file")
    if suffix == ".ply":
        return read_ply(path)
    if suffix == ".stl":
        return read_stl(path)
    return _by_host(path, suffix)


def _by_host(path: Path, suffix: str) -> Scan:
    before = _all_data()
    units = bpy.context.scene.unit_settings
    scale, units.scale_length = units.scale_length, 1.0  # the importer of glTF multiplies by it
    try:
        if suffix == ".obj":
            bpy.ops.wm.obj_import(filepath=str(path), forward_axis="Y", up_axis="Z", validate_meshes=False)
        else:
            bpy.ops.import_scene.gltf(filepath=str(path))
    except RuntimeError as error:
        raise JobError(path.name, f"the host cannot read it: {str(error).strip().splitlines()[-1]}") from error
    else:
        bpy.context.view_layer.update()
        pieces = [_piece(item) for item in _all_data() - before if isinstance(item, bpy.types.Object) and item.type == "MESH"]
    finally:
        units.scale_length = scale
        bpy.data.batch_remove(_all_data() - before)
    scan = _joined(pieces)
    if len(scan.points) == 0:
        raise JobError(path.name, "it holds no points")
    if suffix != ".obj":  # the importer turns glTF's Y up into the host's Z up: (x, y, z) became (x, -z, y)
        scan = Scan(scan.points[:, [0, 2, 1]] * np.array([1.0, 1.0, -1.0]), scan.triangles)
    return scan


def _all_data() -> set[bpy.types.ID]:
    kinds = ("objects", "meshes", "materials", "images", "collections", "actions", "armatures", "cameras", "lights", "textures")
    return {item for kind in kinds for item in getattr(bpy.data, kind)}


def _piece(item: bpy.types.Object) -> tuple[Array, Index]:
    mesh: Any = item.data
    points = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    mesh.attributes["position"].data.foreach_get("vector", points)
    mesh.calc_loop_triangles()
    corners = np.empty(3 * len(mesh.loop_triangles), dtype=np.int32)
    mesh.loop_triangles.foreach_get("vertices", corners)
    matrix = np.array(item.matrix_world, dtype=np.float64)
    return points.reshape(-1, 3) @ matrix[:3, :3].T + matrix[:3, 3], corners.reshape(-1, 3).astype(np.int64)


def _joined(pieces: list[tuple[Array, Index]]) -> Scan:
    if not pieces:
        return Scan(np.zeros((0, 3)), np.zeros((0, 3), np.int64))
    starts = np.cumsum([0, *(len(points) for points, _ in pieces)])
    triangles = np.concatenate([corners + start for (_, corners), start in zip(pieces, starts, strict=False)])
    return Scan(np.concatenate([points for points, _ in pieces]), triangles)
