# SPDX-License-Identifier: GPL-3.0-or-later
"""Finds the mesh of a keep-out: a file beside the job sheet, or an object in the .blend."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import bpy
import numpy as np

from ...core.base.errors import JobError
from ...core.bodies.body import Body
from ...core.clearance.keepout import MeshBodyMaker
from ...core.job.job_sheet import Keepout
from ...core.mesh.triangle_mesh import TriangleMesh, joined
from ..triangle_mesh_data import read_triangles
from .mesh_body import MeshBody


def mesh_body_maker(folder: Path) -> MeshBodyMaker:
    """What clearance_field takes as mesh_body. folder : where relative file names of the job sheet start.

    Files are STL, PLY or OBJ in wheel axes, mm; objects are taken as evaluated, with their modifiers, where they stand.
    The maker raises JobError if there is no such file or object, it cannot be read, or its mesh has no faces.
    """

    def make(section: Keepout) -> Body:
        if section.file is not None:
            mesh = _file_mesh(section.name, folder / section.file)
        else:
            mesh = _object_mesh(section.name, section.object or "")
        return MeshBody(mesh, f'keepout "{section.name}"')

    return make


def _object_mesh(name: str, object_name: str) -> TriangleMesh:
    ob: bpy.types.Object | None = bpy.data.objects.get(object_name)
    if ob is None or ob.type != "MESH":
        raise JobError(f'keepout "{name}"', f'the .blend holds no mesh object "{object_name}"')
    return _world_mesh(ob)


def evaluated_triangles(ob: bpy.types.Object, graph: bpy.types.Depsgraph) -> TriangleMesh:
    """The triangles of a mesh object in its own space, with its modifiers, in any mode. graph : evaluated"""
    evaluated = ob.evaluated_get(graph)
    try:
        return read_triangles(evaluated.to_mesh())
    finally:
        evaluated.to_mesh_clear()


def _world_mesh(ob: bpy.types.Object) -> TriangleMesh:
    mesh = evaluated_triangles(ob, bpy.context.evaluated_depsgraph_get())
    matrix = np.array(ob.matrix_world, dtype=np.float64)
    return TriangleMesh(mesh.vertices @ matrix[:3, :3].T + matrix[:3, 3], mesh.triangles)


def _file_mesh(name: str, path: Path) -> TriangleMesh:
    key = f'keepout "{name}"'
    read = _READERS.get(path.suffix.lower())
    if read is None:
        raise JobError(key, f'the file "{path.name}" is of a kind that is not read; allowed are {", ".join(_READERS)}')
    if not path.is_file():
        raise JobError(key, f'there is no file "{path.name}" where the job sheet says')
    before: set[bpy.types.Object] = set(bpy.data.objects)
    try:
        read(str(path))
    except RuntimeError as error:
        raise JobError(key, f'the file "{path.name}" cannot be read: {error}') from error
    loaded = [ob for ob in bpy.data.objects if ob not in before]
    try:
        meshes = [_world_mesh(ob) for ob in loaded if ob.type == "MESH"]
    finally:
        for ob in loaded:
            _remove(ob)
    if not meshes:
        raise JobError(key, f'the file "{path.name}" holds no mesh that can be read')
    return joined(meshes)


def _remove(ob: bpy.types.Object) -> None:
    data = ob.data
    bpy.data.objects.remove(ob)
    if isinstance(data, bpy.types.Mesh) and data.users == 0:
        bpy.data.meshes.remove(data)


def _read_stl(path: str) -> None:
    bpy.ops.wm.stl_import(filepath=path, forward_axis="Y", up_axis="Z")


def _read_ply(path: str) -> None:
    bpy.ops.wm.ply_import(filepath=path, forward_axis="Y", up_axis="Z")


def _read_obj(path: str) -> None:
    bpy.ops.wm.obj_import(filepath=path, forward_axis="Y", up_axis="Z")


_READERS: dict[str, Callable[[str], None]] = {".stl": _read_stl, ".ply": _read_ply, ".obj": _read_obj}
