# SPDX-License-Identifier: GPL-3.0-or-later
"""Edges and selected faces of the cage in edit mode, drawn over the map, which covers those that the host has drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import bmesh
import bpy
import gpu
import numpy as np
from gpu_extras.batch import batch_for_shader
from mathutils import Matrix

from ...core.base.arrays import Array, Mask
from ..draw.drawing_state import drawing_state

_STATE: Any = gpu.state
_EDGE_PIXELS = 1.5


@dataclass(frozen=True, eq=False)
class CageLines:
    """ends : (e, 2, 3) float, mm, of the cage's visible edges; selected : (e,) bool; faces : (t, 3, 3) float, mm, triangles of selected faces"""

    ends: Array
    selected: Mask
    faces: Array


def cage_lines(mesh: bpy.types.Mesh) -> CageLines:
    """Edges and selected faces of a mesh in edit mode."""
    edited = bmesh.from_edit_mesh(mesh)
    edges = [edge for edge in edited.edges if not edge.hide]
    ends = [[vertex.co[:] for vertex in edge.verts] for edge in edges]
    faces = [face for face in edited.faces if face.select and not face.hide]
    triangles = [
        [face.verts[0].co[:], one.co[:], other.co[:]]
        for face in faces
        for one, other in zip(face.verts[1:-1], face.verts[2:], strict=True)
    ]
    return CageLines(
        np.array(ends, dtype=np.float64).reshape(-1, 2, 3),
        np.array([edge.select for edge in edges], dtype=bool),
        np.array(triangles, dtype=np.float64).reshape(-1, 3, 3),
    )


class CagePicture:
    """The lines of one cage on the graphics processor, in the colors of the host's theme."""

    def __init__(self, lines: CageLines, theme: Any) -> None:
        self._line_shader: Any = gpu.shader.from_builtin("POLYLINE_SMOOTH_COLOR")
        self._face_shader: Any = gpu.shader.from_builtin("UNIFORM_COLOR")
        self._face_color = tuple(theme.face_select)
        plain, chosen = (np.array((*color, 1.0), np.float32) for color in (theme.wire_edit, theme.edge_select))
        colors = np.where(lines.selected[:, None], chosen, plain).repeat(2, axis=0)
        content: dict[str, Any] = {"pos": lines.ends.reshape(-1, 3).astype(np.float32), "color": colors}
        self._edges = batch_for_shader(self._line_shader, "LINES", content) if len(lines.ends) else None
        content = {"pos": lines.faces.reshape(-1, 3).astype(np.float32)}
        self._faces = batch_for_shader(self._face_shader, "TRIS", content) if len(lines.faces) else None

    def draw(self, to_screen: Matrix, unit: float) -> None:
        """Draw them; to_screen : as for the map; unit : pixels of the interface. The host's drawing state is left as it was."""
        stack: Any = gpu.matrix
        with drawing_state(hides_what_is_behind=False, blend="ALPHA"), stack.push_pop(), stack.push_pop_projection():
            stack.load_identity()
            stack.load_projection_matrix(to_screen)
            self._draw(unit)

    def _draw(self, unit: float) -> None:
        if self._faces is not None:
            self._face_shader.bind()
            self._face_shader.uniform_float("color", self._face_color)
            self._faces.draw(self._face_shader)
        if self._edges is not None:
            self._line_shader.bind()
            self._line_shader.uniform_float("viewportSize", _STATE.viewport_get()[2:])
            self._line_shader.uniform_float("lineWidth", _EDGE_PIXELS * unit)
            self._edges.draw(self._line_shader)
