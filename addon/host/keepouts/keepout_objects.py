# SPDX-License-Identifier: GPL-3.0-or-later
"""The bodies of a scene's mesh keep-outs, each kept no longer than what it was made of stands as it was."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from typing import Any

import bpy
import numpy as np

from ...core.base.arrays import Array
from ...core.base.errors import JobError
from ...core.base.row_vectors import farthest
from ...core.bodies.body import Body
from ...core.bodies.placed_body import PlacedBody, even_scale
from ...core.clearance.keepout import MeshBodyMaker
from ...core.job.job_sheet import Keepout
from ...core.mesh.triangle_mesh import TriangleMesh
from ..triangle_mesh_data import read_triangles
from .keepout_mesh import evaluated_triangles, mesh_body_maker
from .mesh_body import MeshBody


@dataclass(frozen=True, eq=False)
class _Seen:
    """A mesh object as it stands. stamp : equal while nothing of it changed; problem : why it has no body, else empty"""

    stamp: object
    mesh: TriangleMesh | None = None
    digest: bytes = b""
    matrix: Array | None = None
    problem: str = ""


@dataclass(frozen=True, eq=False)
class _Kept:
    """A body and what it was made from. own : the body of the mesh in the object's own space, None where it was not made so"""

    seen: _Seen
    body: Body
    own: Body | None


class KeepoutObjects:
    """Owns what is known of the mesh keep-outs of one scene: how each stood when it was looked at, and its body.

    `look` finds out what changed; `maker` makes bodies of what was seen last. A body that was only moved, turned or scaled
    evenly keeps its tree.
    """

    def __init__(self) -> None:
        self._seen: dict[str, _Seen] = {}
        self._kept: dict[str, _Kept] = {}
        self._files: dict[str, tuple[object, Body]] = {}
        self.version = 0
        """Counts how often `look` found something changed."""
        self.moved_mm: dict[str, float] = {}
        """By name of the keep-out: no point of its surface moved further when its body was last made anew."""

    def look(
        self, graph: bpy.types.Depsgraph, sections: Iterable[Keepout], folder: Path, changed: Collection[int] | None
    ) -> bool:
        """Look at all mesh keep-outs; True, and another version, if one is not as it was.

        graph : of the scene, evaluated; changed : session numbers of objects and meshes with new geometry, None for all
        """
        found: dict[str, _Seen] = {}
        for section in sections:
            if section.kind == "mesh":
                found[section.name] = self._look(graph, section, folder, changed)
        before = {name: seen.stamp for name, seen in self._seen.items()}
        self._seen = found
        self._kept = {name: kept for name, kept in self._kept.items() if name in found}
        changed_any = before != {name: seen.stamp for name, seen in found.items()}
        self.version += changed_any
        return changed_any

    def maker(self, folder: Path) -> MeshBodyMaker:
        """What clearance_field takes as mesh_body, for keep-outs that were looked at; raises JobError for one that has no body."""
        of_file = mesh_body_maker(folder)

        def make(section: Keepout) -> Body:
            if section.file is None:
                return self._body(section)
            stamp = _file_stamp(folder / section.file)
            known = self._files.get(section.name)
            self.moved_mm[section.name] = 0.0 if known is not None and known[0] == stamp else np.inf
            if known is None or known[0] != stamp:
                known = self._files[section.name] = (stamp, of_file(section))
            return known[1]

        return make

    def _look(self, graph: bpy.types.Depsgraph, section: Keepout, folder: Path, changed: Collection[int] | None) -> _Seen:
        if section.file is not None:
            return _Seen(_file_stamp(folder / section.file))
        ob: Any = graph.scene.objects.get(section.object or "")
        if ob is None or not isinstance(ob.data, bpy.types.Mesh):
            problem = f'this scene holds no mesh object "{section.object}"; bring it back, pick another, or remove the keep-out'
            return _Seen(("none", section.object), problem=problem)
        plain = not ob.visible_get(view_layer=graph.view_layer) and not _is_worked_out(ob)
        if not plain and _is_disabled(ob, graph.view_layer):
            problem = f'"{ob.name}" is disabled in the viewport, so that its modifiers or parent are not worked out; enable it, and hide it'
            return _Seen(("disabled", ob.session_uid), problem=problem)
        matrix = np.array(ob.matrix_basis if plain else ob.evaluated_get(graph).matrix_world, dtype=np.float64)
        before = self._seen.get(section.name)
        numbers = (ob.session_uid, ob.data.session_uid, plain)
        same = before is not None and before.mesh is not None and isinstance(before.stamp, tuple) and before.stamp[0] == numbers
        if before is not None and same and changed is not None and not set(numbers[:2]) & set(changed):
            mesh, digest = before.mesh, before.digest
        else:
            mesh = read_triangles(ob.data) if plain else evaluated_triangles(ob, graph)
            digest = blake2b(mesh.vertices.tobytes() + mesh.triangles.tobytes(), digest_size=16).digest()
        return _Seen((numbers, digest, matrix.tobytes()), mesh, digest, matrix)

    def _body(self, section: Keepout) -> Body:
        seen, key = self._seen.get(section.name), f'keepout "{section.name}"'
        if seen is None or seen.mesh is None or seen.matrix is None:
            raise JobError(key, "was not looked at yet" if seen is None else seen.problem)
        kept = self._kept.get(section.name)
        if kept is not None and kept.seen.stamp == seen.stamp:
            self.moved_mm[section.name] = 0.0
            return kept.body
        linear, shift = seen.matrix[:3, :3], seen.matrix[:3, 3]
        own: Body | None = None
        if even_scale(linear) is None:
            body: Body = MeshBody(_world(seen), key)
        else:
            own = kept.own if kept is not None and kept.own is not None and kept.seen.digest == seen.digest else None
            own = own or MeshBody(seen.mesh, key)
            body = PlacedBody(own, linear, shift)
        self.moved_mm[section.name] = np.inf if kept is None else _farthest_moved(kept.seen, seen)
        self._kept[section.name] = _Kept(seen, body, own)
        return body


def _is_worked_out(ob: Any) -> bool:
    """True if what the host shows of an object is more than its mesh, set where its own values say."""
    modifiers = any(modifier.show_viewport for modifier in ob.modifiers)
    return modifiers or ob.parent is not None or len(ob.constraints) > 0 or ob.data.shape_keys is not None


def _is_disabled(ob: Any, view_layer: bpy.types.ViewLayer) -> bool:
    """True if the host does not work an object out at all; it does where only the object's eye is closed."""
    if ob.visible_get(view_layer=view_layer):
        return False
    closed_eye = ob.name in view_layer.objects and ob.hide_get(view_layer=view_layer)
    return not closed_eye or ob.hide_viewport or any(collection.hide_viewport for collection in ob.users_collection)


def _world(seen: _Seen) -> TriangleMesh:
    assert seen.mesh is not None and seen.matrix is not None
    return TriangleMesh(seen.mesh.vertices @ seen.matrix[:3, :3].T + seen.matrix[:3, 3], seen.mesh.triangles)


def _farthest_moved(before: _Seen, now: _Seen) -> float:
    """No point of the surface moved further, mm; infinite if the faces are others."""
    if before.mesh is None or now.mesh is None or not np.array_equal(before.mesh.triangles, now.mesh.triangles):
        return np.inf
    if len(before.mesh.vertices) != len(now.mesh.vertices):
        return np.inf
    return farthest(_world(before).vertices, _world(now).vertices)


def _file_stamp(path: Path) -> object:
    try:
        found = path.stat()
    except OSError:
        return ("file", str(path), None)
    return ("file", str(path), found.st_mtime_ns, found.st_size)
