# SPDX-License-Identifier: GPL-3.0-or-later
"""A page with shaded meshes, rectangles and text, written as PNG without a window or a graphics processor."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import bpy
import numpy as np

from ...core.base.arrays import Array, Index
from ...core.drawing.raster import Raster, Singles
from .temporary_scene import temporary_scene

WIDTH, HEIGHT = 16.0, 9.0
"""Size of a page in its own units; the origin is its lower left corner."""
INK = (0.1, 0.1, 0.1)
PAPER = (0.97, 0.97, 0.96)

_PIXELS_PER_UNIT = 90
_SIZE = (round(WIDTH * _PIXELS_PER_UNIT), round(HEIGHT * _PIXELS_PER_UNIT))
_SAMPLES, _TEXT_SAMPLES = 2, 4
"""Rows and columns of samples in a pixel, for meshes and for text, whose strokes are thin."""
_DEPTHS = (-200.0, 200.0)
_LAMP = np.array([-0.4, 0.6, 0.693])
"""Unit vector toward the lamp: right, up, toward the eye."""


@contextmanager
def picture_page(path: Path) -> Iterator[PicturePage]:
    """A page to draw on, which is written to a PNG when the block ends without an error."""
    page = PicturePage()
    yield page
    page._write(path)


class PicturePage:
    """Owns the pixels of one page while it is drawn."""

    def __init__(self) -> None:
        self._raster = Raster(_SIZE, _SAMPLES, _DEPTHS)
        self._texts: list[tuple[Array, Index]] = []

    def mesh(self, points: Array, faces: Index, colors: Array, normals: Array | None = None, *, paint: bool = False) -> None:
        """A mesh in page units, its z toward the eye.

        points : (n, 3) float; faces : (m, 3) or (m, 4) int; colors : (n, 3) or (3,) float, sRGB; normals : (n, 3) float, unit, to
        shade both sides by how far they turn from the eye; None for flat color
        paint : light it as paint under a soft lamp, for the eye, in place of a shade that leaves the colors of a map readable
        """
        shade: Array = np.ones((len(points), 1))
        if normals is not None and not paint:
            shade = 0.55 + 0.45 * np.abs(normals[:, 2:])
        triangles = faces if faces.shape[1] == 3 else faces[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)
        lit = colors * shade if normals is None or not paint else _painted(np.broadcast_to(colors, points.shape), normals)
        self._raster.add(points * [_PIXELS_PER_UNIT, _PIXELS_PER_UNIT, 1.0], triangles, np.clip(lit, 0.0, 1.0))

    def rectangle(self, low: Array, high: Array, color: tuple[float, float, float], above: float = 0.0) -> None:
        """A rectangle from its lower left to its upper right corner, (2,) float each."""
        (left, bottom), (right, top) = low, high
        corners = np.array([[left, bottom, above], [right, bottom, above], [right, top, above], [left, top, above]])
        self.mesh(corners, np.array([[0, 1, 2, 3]]), np.array(color))

    def text(self, text: str, place: Array, size: float, align: str = "LEFT") -> None:
        """A line of text over all else; place : (2,) float, start or middle of its base line."""
        points, triangles = _letters(text)
        if not len(triangles):
            return
        left = 0.5 * float(points[:, 0].max()) * size if align == "CENTER" else 0.0
        shift: Array = np.asarray(place, dtype=np.float64) - np.array([left, 0.0])
        placed = np.asarray((size * points + shift) * float(_PIXELS_PER_UNIT), dtype=np.float64)
        self._texts.append((placed, triangles))

    def _write(self, path: Path) -> None:
        image = self._raster.image(np.array(PAPER))
        for points, triangles in self._texts:
            _set_type(image, points, triangles)
        _write_png(image, path)


def _painted(colors: Array, normals: Array) -> Array:
    """Colors (n, 3) as paint shows them: daylight from above, a lamp over the left shoulder and its soft gloss.

    After Blinn, Models of light reflection for computer synthesized pictures, SIGGRAPH 1977.
    """
    facing = normals * np.where(normals[:, 2:] < 0.0, -1.0, 1.0)
    halfway = _LAMP + [0.0, 0.0, 1.0]
    halfway /= np.linalg.norm(halfway)
    day = 0.44 + 0.14 * facing[:, 1:2]
    lamp = 0.52 * np.maximum(facing @ _LAMP, 0.0)[:, None]
    gloss = 0.22 * (np.maximum(facing @ halfway, 0.0) ** 40)[:, None]
    return np.asarray(colors * (day + lamp) + gloss)


def _set_type(image: Singles, points: Array, triangles: Index) -> None:
    """Print letters into an image; points : (n, 2) float, pixels."""
    height, width = image.shape[:2]
    low = np.clip(np.floor(points.min(axis=0)).astype(int), 0, [width, height])
    high = np.clip(np.ceil(points.max(axis=0)).astype(int), 0, [width, height])
    if (high <= low).any():
        return
    raster = Raster((int(high[0] - low[0]), int(high[1] - low[1])), _TEXT_SAMPLES, (-1.0, 1.0))
    flat = np.column_stack([points - low, np.zeros(len(points))])
    raster.add(flat, triangles, np.zeros((len(points), 3)))
    paper = raster.image(np.ones(3))[:, :, :1]
    window = (slice(low[1], high[1]), slice(low[0], high[0]))
    image[window] = paper * image[window] + (1.0 - paper) * np.array(INK, dtype=np.float32)


@cache
def _letters(text: str) -> tuple[Array, Index]:
    """A line of text of size 1 in the host's own font: points (n, 2) float and triangles (m, 3) int."""
    with temporary_scene("Text") as scene:
        curve: Any = bpy.data.curves.new("Text", "FONT")
        curve.body, curve.size, curve.resolution_u = text, 1.0, 6
        ob = bpy.data.objects.new("Text", curve)
        scene.collection.objects.link(ob)
        mesh = ob.to_mesh()
        mesh.calc_loop_triangles()
        points = np.empty(3 * len(mesh.vertices), dtype=np.float32)
        mesh.vertices.foreach_get("co", points)
        triangles = np.empty(3 * len(mesh.loop_triangles), dtype=np.int32)
        mesh.loop_triangles.foreach_get("vertices", triangles)
        ob.to_mesh_clear()
    return points.reshape(-1, 3)[:, :2].astype(np.float64), triangles.reshape(-1, 3).astype(np.int64)


def _write_png(image: Singles, path: Path) -> None:
    """Write an image (height, width, 3), sRGB 0 to 1, the lowest row first."""
    height, width = image.shape[:2]
    pixels = np.ones((height, width, 4), dtype=np.float32)
    pixels[:, :, :3] = image
    made: Any = bpy.data.images.new("Picture", width, height, alpha=False)
    try:
        made.pixels.foreach_set(pixels.ravel())
        made.filepath_raw, made.file_format = str(path), "PNG"
        made.save()
    finally:
        bpy.data.images.remove(made)


def view_axes(turn_deg: float, height_deg: float) -> Array:
    """(3, 3) rows: right, up and toward the eye, for an eye at the front (-Y), turned to the rider's left and raised."""
    turn, height = np.radians([turn_deg, height_deg])
    toward = np.array([np.sin(turn) * np.cos(height), -np.cos(turn) * np.cos(height), np.sin(height)])
    right = np.array([np.cos(turn), np.sin(turn), 0.0])
    return np.stack([right, np.cross(toward, right), toward])


def fitted(points: Array, axes: Array, low: Array, size: Array) -> tuple[float, Array]:
    """Scale and shift (3,) that center points (n, 3), as seen along axes, in a rectangle of the page."""
    seen = points @ axes.T
    extent = np.ptp(seen, axis=0)[:2]
    scale = float(np.min(size / extent))
    return scale, np.append(low + 0.5 * (size - scale * extent) - scale * seen.min(axis=0)[:2], 0.0)
