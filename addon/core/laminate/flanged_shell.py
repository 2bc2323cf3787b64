# SPDX-License-Identifier: GPL-3.0-or-later
"""The closed shell of a plug or a mold: one face of the part, and a flange all round its trim line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from ..base.errors import ShapeError
from ..base.format_place import format_place
from ..mesh.open_surface import Surface
from ..mesh.triangle_mesh import TriangleMesh
from ..wall.curvature import check_offset
from ..wall.rim import rim_sections
from .flange_section import FlangeShape, bend_angles, flange_lines
from .flange_width import free_widths


@dataclass(frozen=True, eq=False)
class FlangedShell:
    """A closed shell with its flange.

    mesh : closed; base : (s, 3) float, mm, where the flange begins at each section of the edge; way : (s, 3) float, unit, where it runs
    up : (s, 3) float, unit, square to its face, toward the mold; width : (s,) float, mm; after : (s,) int, next section
    narrowed : True where it is narrower than asked somewhere
    """

    mesh: TriangleMesh
    base: Array
    way: Array
    up: Array
    width: Array
    after: Index
    narrowed: bool


def flanged_shell(face: Surface, thickness: float, shape: FlangeShape) -> FlangedShell:
    """The shell of a face, with its flange.

    face : the face that the mold touches, its true normals toward the mold; its boundary is the trim line
    thickness : mm, over 0 for a shell behind the face (a plug), under 0 for one before it (a female mold)
    Raises ShapeError, with the place, where the face bends more tightly than the shell is thick, or its edge curls up.
    """
    check_offset(face, max(-thickness, 0.0), max(thickness, 0.0))
    other = face.points - thickness * face.normals
    boundary, count = face.boundary, len(face.points)
    edge = boundary.vertex
    sections = rim_sections(boundary, face.points[edge], face.normals[edge])
    owner, normals = sections.owner, face.normals[edge][sections.owner]
    out = sections.out / np.linalg.norm(sections.out, axis=1, keepdims=True)
    start = face.points[edge][owner]
    pull = np.tile(np.asarray(shape.pull) / np.linalg.norm(shape.pull), (len(owner), 1))
    if shape.mirrored:
        pull[start[:, 0] < 0.0, 0] *= -1.0
    angle = np.zeros(len(owner)) if shape.straight else bend_angles(out, normals, pull)
    way = np.cos(angle)[:, None] * out + np.sin(angle)[:, None] * normals
    bends, _ = flange_lines(angle, np.zeros(len(owner)), thickness, shape)
    base = start + bends[:, -1, :1] * normals + bends[:, -1, 1:] * sections.out
    width = free_widths(base, way, sections.after, shape.width)
    first, second = flange_lines(angle, width, thickness, shape)
    lines = np.concatenate([first, second[:, ::-1]], axis=1)
    points = start[:, None, :] + lines[..., :1] * normals[:, None, :] + lines[..., 1:] * sections.out[:, None, :]
    index = np.concatenate(
        [
            edge[owner][:, None],
            2 * count + np.arange(points.shape[0] * points.shape[1]).reshape(points.shape[:2]),
            (edge + count)[owner][:, None],
        ],
        axis=1,
    )
    triangles = np.concatenate([face.triangles, face.triangles[:, ::-1] + count, _strip(index, sections.after)])
    if thickness < 0.0:
        triangles = triangles[:, ::-1]
    mesh = TriangleMesh(np.concatenate([face.points, other, points.reshape(-1, 3)]), triangles)
    if not mesh.is_closed or mesh.volume <= 0.0:
        place = start[int(np.argmin(width))]
        raise ShapeError(f"the flange runs into itself {format_place(place)}; make it narrower or the edge rounder", place)
    up = np.cos(angle)[:, None] * normals - np.sin(angle)[:, None] * out
    return FlangedShell(mesh, base, way, up, width, sections.after, bool(width.min() < shape.width - 1e-9))


def _strip(index: Index, after: Index) -> Index:
    """Triangles between sections (s, k) and the next ones, those of no size left out."""
    one, two = index, index[after]
    a, b, c, d = one[:, :-1], one[:, 1:], two[:, 1:], two[:, :-1]
    triangles = np.concatenate([np.stack([a, b, c], axis=-1).reshape(-1, 3), np.stack([a, c, d], axis=-1).reshape(-1, 3)])
    return np.asarray(triangles[(triangles != np.roll(triangles, 1, axis=1)).all(axis=1)])
