# SPDX-License-Identifier: GPL-3.0-or-later
"""Difference, intersection and union of closed meshes by the host's Boolean modifier."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal, cast

import bpy
import numpy as np

from ..core.base.errors import ShapeError
from ..core.base.tolerances import TOLERANCES
from ..core.mesh.clean_mesh import collapse_short_edges
from ..core.mesh.prism import box
from ..core.mesh.triangle_mesh import TriangleMesh
from .pictures.temporary_scene import temporary_scene
from .triangle_mesh_data import mesh_data, read_triangles

Operation = Literal["DIFFERENCE", "INTERSECT", "UNION"]


def difference(base: TriangleMesh, cutter: TriangleMesh, what: str) -> TriangleMesh:
    """base without cutter. what : names the step in errors, such as "bolt holes". See boolean."""
    return boolean(base, cutter, "DIFFERENCE", what)


def intersection(base: TriangleMesh, other: TriangleMesh, what: str) -> TriangleMesh:
    """What base and other share. what : names the step in errors. See boolean."""
    return boolean(base, other, "INTERSECT", what)


def union(base: TriangleMesh, other: TriangleMesh, what: str) -> TriangleMesh:
    """base and other in one. what : names the step in errors. See boolean."""
    return boolean(base, other, "UNION", what)


def boolean(base: TriangleMesh, other: TriangleMesh, operation: Operation, what: str) -> TriangleMesh:
    """The result of a Boolean operation on two closed meshes, closed, in float32 coordinates as the host holds them.

    The host's solvers leave alone what they cannot cut and say so on the console only; hence the checks.
    Raises ShapeError if an operand is open, or the result is open, empty or not what can come of the operation. All data
    blocks made here are removed.
    """
    for mesh, name in ((base, "part"), (other, "cutter")):
        if not mesh.is_closed:
            raise ShapeError(f"{what}: the {name} is not a closed body, so it cannot be cut")
    for name, nudge in _tries(solver()):
        moved = TriangleMesh(other.vertices + nudge * _ASKEW, other.triangles)
        result = collapse_short_edges(_by_modifier(base, moved, operation, name))
        if len(result.triangles) and result.is_closed:
            break
    if not len(result.triangles):
        raise ShapeError(f"{what}: nothing is left of the part")
    if not result.is_closed:
        raise ShapeError(f"{what}: the cut did not give a closed body; move the cut or the shape a little")
    _check_possible(result, base, moved, operation, what)
    return result


_NUDGES_MM = (0.0, 0.004, -0.004, 0.008, -0.008)
_ASKEW = np.array([0.48, 0.62, 0.62])
"""Along no axis, of about unit length."""


def _tries(name: str) -> tuple[tuple[str, float], ...]:
    """Solvers, and way in mm that the cutter is moved by for each, less than the chord of the solid.

    What MANIFOLD cuts is closed, but the host joins its triangles to polygons, and where it cuts these again a side may come out
    twice. Where it is missing, each of the others fails now and then, where faces nearly meet.
    """
    if name == "MANIFOLD":
        return tuple((name, nudge) for nudge in _NUDGES_MM)
    return tuple((other, nudge) for nudge in _NUDGES_MM for other in (name, "EXACT"))


def _check_possible(result: TriangleMesh, base: TriangleMesh, other: TriangleMesh, operation: str, what: str) -> None:
    """Raise if the result is more or less than can be, or reaches out of the body that it was to be kept within."""
    least, most, low, high = 0.0, base.volume, base.bounds[0], base.bounds[1]
    if operation == "INTERSECT":
        most, low, high = min(most, other.volume), np.maximum(low, other.bounds[0]), np.minimum(high, other.bounds[1])
    if operation == "UNION":
        least, most = max(base.volume, other.volume), base.volume + other.volume
        low, high = np.minimum(low, other.bounds[0]), np.maximum(high, other.bounds[1])
    slack = TOLERANCES.chord
    if (
        (operation == "UNION" and not _holds_some_of(result, other))
        or not least * (1.0 - 1e-6) <= result.volume <= most * (1.0 + 1e-6)
        or (result.bounds[0] < low - slack).any()
        or (result.bounds[1] > high + slack).any()
    ):
        raise ShapeError(f"{what}: the host left the part uncut; move the cut or the shape a little")


def _holds_some_of(result: TriangleMesh, other: TriangleMesh) -> bool:
    """Whether points of the other body are points of the result: volumes cannot tell if a small body was added to a large one."""
    one, two = (np.ascontiguousarray(np.round(mesh.vertices, 3) + 0.0).view("V24").ravel() for mesh in (result, other))
    return bool(np.isin(one, two).any())


@lru_cache(maxsize=1)
def solver() -> str:
    """The solver that this host really has: MANIFOLD, or where it was built without it, its solver with plain numbers.

    A host without one leaves the base as it is and reports no error, so that two cubes are cut for a trial.
    Raises ShapeError if no solver cuts them.
    """
    one, other = (box(np.full(3, shift), np.eye(3), np.zeros(3), np.ones(3)) for shift in (0.0, 0.5))
    for name in ("MANIFOLD", "FLOAT" if bpy.app.version >= (5, 0, 0) else "FAST"):
        volumes = [_by_modifier(one, other, operation, name).volume for operation in ("INTERSECT", "DIFFERENCE")]
        if np.allclose(volumes, [1.0 / 8.0, 7.0 / 8.0], rtol=1e-5):
            return name
    raise ShapeError("this host has no solver that cuts closed meshes; use the host as its makers ship it")


def _by_modifier(base: TriangleMesh, other: TriangleMesh, operation: Operation, solver_name: str) -> TriangleMesh:
    with temporary_scene("boolean") as scene:
        part, cutter = (bpy.data.objects.new(name, mesh_data(name, mesh)) for name, mesh in (("part", base), ("cutter", other)))
        scene.collection.objects.link(part)
        scene.collection.objects.link(cutter)
        modifier = cast(bpy.types.BooleanModifier, part.modifiers.new("cut", "BOOLEAN"))
        modifier.operation = operation
        modifier.solver = solver_name  # type: ignore[assignment]
        modifier.object = cutter
        with bpy.context.temp_override(scene=scene, view_layer=scene.view_layers[0]):
            evaluated = part.evaluated_get(bpy.context.evaluated_depsgraph_get())
        mesh = evaluated.to_mesh()
        try:
            return read_triangles(mesh)
        finally:
            evaluated.to_mesh_clear()


def rounded(mesh: TriangleMesh) -> TriangleMesh:
    """The mesh with its coordinates rounded to float32, as the host and the files hold them, cleaned as after a cut."""
    return collapse_short_edges(TriangleMesh(mesh.vertices.astype(np.float32).astype(np.float64), mesh.triangles))
