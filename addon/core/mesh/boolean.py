# SPDX-License-Identifier: GPL-3.0-or-later
"""Difference, intersection and union of closed bodies, by manifold3d in float64, and the meshes that files hold of them."""

from __future__ import annotations

import sys
import sysconfig
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np

from ..base.arrays import Array
from ..base.errors import ShapeError
from ..base.tolerances import TOLERANCES
from .collapse_short_edges import collapse_short_edges
from .triangle_mesh import TriangleMesh

try:
    from manifold3d import Error, Manifold, Mesh64, OpType
except ImportError as error:
    raise ImportError(
        f"Fenderwright brings manifold3d along for Python 3.11, 3.13 and 3.14, and this is {sys.version.split()[0]} on "
        f"{sysconfig.get_platform()}: use Blender as its makers ship it ({error})"
    ) from error

Solid: TypeAlias = Manifold
"""A closed body as the modeler holds it; what is asked of it is worked out when it is needed."""

SPECK_MM3 = 1e-3
"""A flat needle of rounding where two faces nearly meet in one plane; a printed dot has ten times as much. Our choice."""


def solid(mesh: TriangleMesh, what: str) -> Solid:
    """The body that a closed mesh bounds. what : names it in errors, such as "bolt holes".

    Raises ShapeError if the mesh is open, empty, or has an edge in more than two triangles.
    """
    # the modeler refuses arrays that are read-only
    body = Manifold(Mesh64(np.array(mesh.vertices), np.array(mesh.triangles, np.uint64)))
    if body.status() != Error.NoError or body.is_empty():
        raise ShapeError(f"{what}: a piece of it is not a closed body, so it cannot be cut")
    return body


def difference(base: Solid, cutters: Sequence[Solid], what: str) -> Solid:
    """base without the cutters, which may overlap. Raises ShapeError if nothing is left."""
    return _something(Manifold.batch_boolean([base, *cutters], OpType.Subtract), what)


def intersection(base: Solid, other: Solid, what: str) -> Solid:
    """What base and other share. Raises ShapeError if that is nothing."""
    return _something(base ^ other, what)


def union(bodies: Sequence[Solid], what: str) -> Solid:
    """All bodies in one. Raises ShapeError if there is none."""
    return _something(Manifold.batch_boolean(list(bodies), OpType.Add), what)


def _something(result: Solid, what: str) -> Solid:
    if result.is_empty():
        raise ShapeError(f"{what}: nothing is left of the part")
    return result


def separate_parts(body: Solid, speck: float = SPECK_MM3) -> list[Solid]:
    """The parts of a body that nothing connects, the largest first, without those of no more than speck, mm3.

    The largest is always there. A void is a part too, of the volume that is lacking.
    """
    parts = sorted(body.decompose(), key=lambda part: -abs(part.volume()))
    return [part for number, part in enumerate(parts) if number == 0 or abs(part.volume()) > speck]


def mesh_of(body: Solid) -> TriangleMesh:
    """The triangles of a body, in float64."""
    mesh = body.to_mesh64()
    return TriangleMesh(mesh.vert_properties[:, :3], mesh.tri_verts)


def file_body(body: Solid) -> Solid:
    """The body as files hold it: float32 values, and no triangle so flat that the rounding turns it over.

    Points that a cut leaves along an edge come to lie beside it when they are rounded, and the flat triangles between pass
    through their neighbors. So the points are rounded first, and those that the surface does not need to within
    TOLERANCES.simplify are taken out. The others stay.
    """
    rough = mesh_of(body)
    return solid(TriangleMesh(_rounded(rough.vertices), rough.triangles), "part").simplify(TOLERANCES.simplify)


def file_mesh(body: Solid) -> TriangleMesh:
    """The triangles of a body as files hold it (see file_body), without edges shorter than TOLERANCES.shortest_edge."""
    mesh = mesh_of(body)
    return collapse_short_edges(TriangleMesh(_rounded(mesh.vertices), mesh.triangles))


def _rounded(points: Array) -> Array:
    return points.astype(np.float32).astype(np.float64)
