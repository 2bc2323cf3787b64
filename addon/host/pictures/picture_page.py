# SPDX-License-Identifier: GPL-3.0-or-later
"""A page that is rendered flat: shaded meshes, rectangles and text, without a window or a graphics processor."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import bpy
import numpy as np

from ...core.base.arrays import Array, Index
from .quiet_host import quiet_host
from .temporary_scene import temporary_scene

WIDTH, HEIGHT = 16.0, 9.0
"""Size of a page in its own units; the origin is its lower left corner."""
INK = (0.1, 0.1, 0.1)
PAPER = (0.97, 0.97, 0.96)

_PIXELS_PER_UNIT = 90
_SAMPLES = 6
_TINT = "Tint"
"""Attribute with the colors; one that is called "color" comes out black in a render."""


@contextmanager
def picture_page(path: Path) -> Iterator[PicturePage]:
    """A page to draw on, which is rendered to a PNG when the block ends without an error."""
    with temporary_scene("Picture") as scene:
        page = PicturePage(scene)
        yield page
        page._render(path)


class PicturePage:
    """Owns the scene of one page while it is drawn."""

    def __init__(self, scene: bpy.types.Scene) -> None:
        self._scene = scene
        self._tinted = _shining_material(None)
        self._ink = _shining_material(INK)

    def mesh(self, points: Array, faces: Index, colors: Array, normals: Array | None = None) -> None:
        """A mesh in page units, its z toward the eye.

        points : (n, 3) float; faces : (m, k) int; colors : (n, 3) or (3,) float, sRGB; normals : (n, 3) float, unit, to shade
        both sides by how far they turn from the eye; None for flat color
        """
        shade = 1.0 if normals is None else 0.55 + 0.45 * np.abs(normals[:, 2:])
        mesh = bpy.data.meshes.new("Picture")
        mesh.from_pydata(points.astype(np.float32), [], faces)
        attribute: Any = mesh.color_attributes.new(_TINT, "FLOAT_COLOR", "POINT")
        linear = np.ones((len(points), 4), dtype=np.float32)
        linear[:, :3] = _linear(np.clip(colors * shade, 0.0, 1.0))
        attribute.data.foreach_set("color", linear.ravel())
        mesh.materials.append(self._tinted)
        self._link(mesh)

    def rectangle(self, low: Array, high: Array, color: tuple[float, float, float], above: float = 0.0) -> None:
        """A rectangle from its lower left to its upper right corner, (2,) float each."""
        (left, bottom), (right, top) = low, high
        corners = np.array([[left, bottom, above], [right, bottom, above], [right, top, above], [left, top, above]])
        self.mesh(corners, np.array([[0, 1, 2, 3]]), np.array(color))

    def text(self, text: str, place: Array, size: float, align: str = "LEFT") -> None:
        """A line of text; place : (2,) float, start or middle of its base line."""
        curve: Any = bpy.data.curves.new("Picture", "FONT")
        curve.body, curve.size, curve.align_x = text, size, align
        curve.materials.append(self._ink)
        self._link(curve).location = (float(place[0]), float(place[1]), 0.0)

    def _link(self, data: bpy.types.ID) -> bpy.types.Object:
        ob = bpy.data.objects.new("Picture", data)
        self._scene.collection.objects.link(ob)
        return ob

    def _render(self, path: Path) -> None:
        scene: Any = self._scene
        camera = bpy.data.cameras.new("Picture")
        camera.type, camera.ortho_scale, camera.clip_end = "ORTHO", WIDTH, 200.0
        scene.camera = self._link(camera)
        scene.camera.location = (0.5 * WIDTH, 0.5 * HEIGHT, 100.0)
        scene.world = _paper_world()
        render = scene.render
        render.engine, render.film_transparent = "CYCLES", False
        render.resolution_x, render.resolution_y = int(WIDTH * _PIXELS_PER_UNIT), int(HEIGHT * _PIXELS_PER_UNIT)
        render.resolution_percentage = 100
        render.image_settings.file_format, render.image_settings.color_mode = "PNG", "RGB"
        render.filepath = str(path)
        scene.cycles.device, scene.cycles.samples, scene.cycles.max_bounces = "CPU", _SAMPLES, 0
        scene.cycles.use_denoising = scene.cycles.use_adaptive_sampling = False
        scene.view_settings.view_transform = "Standard"
        with quiet_host():
            bpy.ops.render.render(write_still=True, scene=scene.name)


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


def _paper_world() -> bpy.types.World:
    world = bpy.data.worlds.new("Picture")
    if bpy.app.version < (5, 0, 0):
        world.use_nodes = True
    background: Any = next(node for node in world.node_tree.nodes if node.type == "BACKGROUND")
    background.inputs["Color"].default_value = (*_linear(np.array(PAPER)), 1.0)
    return world


def _shining_material(color: tuple[float, float, float] | None) -> bpy.types.Material:
    """A material that only shines: in one color, or in the mesh's own colors."""
    material = bpy.data.materials.new("Picture")
    if bpy.app.version < (5, 0, 0):
        material.use_nodes = True
    tree: Any = material.node_tree
    tree.nodes.clear()
    shine = tree.nodes.new("ShaderNodeEmission")
    output = tree.nodes.new("ShaderNodeOutputMaterial")
    tree.links.new(shine.outputs["Emission"], output.inputs["Surface"])
    if color is None:
        own: Any = tree.nodes.new("ShaderNodeVertexColor")
        own.layer_name = _TINT
        tree.links.new(own.outputs["Color"], shine.inputs["Color"])
    else:
        shine.inputs["Color"].default_value = (*_linear(np.array(color)), 1.0)
    return material


def _linear(color: Array) -> Array:
    """sRGB to linear light (IEC 61966-2-1)."""
    return np.where(color <= 0.04045, color / 12.92, ((color + 0.055) / 1.055) ** 2.4)
