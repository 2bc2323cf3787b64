# SPDX-License-Identifier: GPL-3.0-or-later
"""The rendered pieces: as they are bolted together, and pulled apart."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from ...core.base.arrays import Array
from ...core.base.row_vectors import dot_rows
from ...core.mesh.triangle_mesh import TriangleMesh
from ...core.pieces.dowel_pins import Pin
from ...core.views.explode_directions import explode_directions
from ...pipeline.finish import Part
from .picture_page import HEIGHT, fitted, picture_page, view_axes

_VIEWS = ((35.0, 30.0), (-145.0, -25.0))
"""Turn about the vertical and height of the eye, degrees."""
_CAPTIONS = (("Bolted together, from the front left", 0.0), ("Exploded, from the rear, below", 0.16))
"""Caption, and how far the pieces are apart, as a share of the length."""
_LOW = np.array([[0.6, 1.7], [8.4, 1.7]])
_SIZE = np.array([7.0, 6.2])
_COLORS = np.array([[0.42, 0.53, 0.62], [0.80, 0.66, 0.42], [0.55, 0.62, 0.50], [0.66, 0.52, 0.56]])
_PIN_COLOR = np.array([0.25, 0.25, 0.28])
_TEXT = 0.26
_CREASE = np.cos(np.radians(30.0))


def render_parts(parts: Sequence[Part], pins: Sequence[Pin], title: str, path: Path) -> None:
    """Write a picture of the pieces and their dowel pins as PNG. Needs no window and no graphics processor."""
    bodies = [*(part.mesh for part in parts), *(pin.body for pin in pins)]
    colors = [*(_COLORS[number % len(_COLORS)] for number in range(len(parts))), *[_PIN_COLOR] * len(pins)]
    length = float(np.linalg.norm(np.ptp(np.concatenate([body.bounds for body in bodies]), axis=0)))
    apart = explode_directions([body.bounds for body in bodies])
    with picture_page(path) as page:
        page.text(title, np.array([0.6, HEIGHT - 0.6]), 1.2 * _TEXT)
        for (turn, height), (caption, share), low in zip(_VIEWS, _CAPTIONS, _LOW, strict=True):
            axes = view_axes(turn, height)
            placed = [body.vertices + share * length * way for body, way in zip(bodies, apart, strict=True)]
            scale, shift = fitted(np.concatenate(placed), axes, low, _SIZE)
            for body, points, color in zip(bodies, placed, colors, strict=True):
                corners, normals = _split_at_creases(TriangleMesh(points, body.triangles))
                faces = np.arange(len(corners)).reshape(-1, 3)
                page.mesh(scale * (corners @ axes.T) + shift, faces, color, normals @ axes.T, paint=True)
            page.text(caption, low + [0.5 * _SIZE[0], -0.6], _TEXT, align="CENTER")


def _split_at_creases(mesh: TriangleMesh) -> tuple[Array, Array]:
    """Corner points (3 m, 3) and normals: those of the vertex where the surface is smooth, of the face at a crease."""
    area = mesh.area_vectors
    at_vertex = np.zeros_like(mesh.vertices)
    for corner in range(3):
        np.add.at(at_vertex, mesh.triangles[:, corner], area)
    face = np.repeat(_unit(area), 3, axis=0)
    smooth = _unit(at_vertex)[mesh.triangles.ravel()]
    is_smooth = dot_rows(face, smooth) > _CREASE
    return mesh.corners.reshape(-1, 3), np.where(is_smooth[:, None], smooth, face)


def _unit(vectors: Array) -> Array:
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=1, keepdims=True), 1e-12))
