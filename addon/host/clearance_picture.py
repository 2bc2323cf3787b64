# SPDX-License-Identifier: GPL-3.0-or-later
"""The rendered clearance map: the skin over the tire from two sides, with a legend in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import bpy
import numpy as np

from ..core.arrays import Array, Index
from ..core.clearance_map import clearance_colors, clearance_legend
from ..core.skin import Skin
from ..core.tables.clearance_map import BLACK
from ..core.wheel_axes import point_at
from .temporary_scene import temporary_scene

_SIZE = (1600, 900)
_SAMPLES = 24
_PAPER = (0.97, 0.97, 0.96)
_INK = (0.1, 0.1, 0.1)
_TIRE = (0.42, 0.42, 0.42)
_VIEWS = ((35.0, 25.0, "From the front left"), (-145.0, -28.0, "From the rear, below"))
"""Turn about the vertical and height of the eye, degrees, and caption of each view."""


@dataclass(frozen=True, eq=False)
class ClearancePicture:
    """What the picture shows.

    skin : the whole skin; excess : (n,) mm above what is required, at each of its points
    profile : (m, 2) offset and radius of the tire at its largest; required_mm : at a tire point
    lines : text under the legend
    """

    skin: Skin
    excess: Array
    profile: Array
    required_mm: float
    lines: Sequence[str]


def render_clearance(picture: ClearancePicture, path: Path) -> None:
    """Write the picture as PNG. Needs no window and no graphics processor."""
    with temporary_scene("Clearance picture") as scene:
        extent = float(np.ptp(picture.skin.points, axis=0).max())
        for place, (turn, height, caption) in enumerate(_VIEWS):
            center = np.array([(place - 0.78) * 1.12 * extent, 0.12 * extent])
            _add_view(scene, picture, _eye(turn, height), center)
            _add_text(scene, caption, center + [0.0, -0.66 * extent], 0.035 * extent, align="CENTER")
        _add_legend(scene, picture, extent)
        _render(scene, 2.3 * extent, path)


def _eye(turn_deg: float, height_deg: float) -> Array:
    """Rows: right, up and toward the eye, for an eye at the front (-Y) turned to the rider's left."""
    turn, height = np.radians([turn_deg, height_deg])
    toward = np.array([np.sin(turn) * np.cos(height), -np.cos(turn) * np.cos(height), np.sin(height)])
    right = np.array([np.cos(turn), np.sin(turn), 0.0])
    return np.stack([right, np.cross(toward, right), toward])


def _add_view(scene: bpy.types.Scene, picture: ClearancePicture, eye: Array, center: Array) -> None:
    skin = picture.skin
    middle = 0.5 * (skin.points.max(axis=0) + skin.points.min(axis=0))
    place = np.array([center[0], center[1], 0.0])
    colors = clearance_colors(picture.excess, skin.points)[:, :3].astype(np.float64)
    normals = skin.normals @ eye.T
    _add_mesh(scene, (skin.points - middle) @ eye.T + place, skin.quads, colors * _shade(normals))
    tire, quads, tire_normals = _tire(picture.profile)
    _add_mesh(scene, (tire - middle) @ eye.T + place, quads, np.array(_TIRE) * _shade(tire_normals @ eye.T))


def _shade(normals: Array) -> Array:
    """Share of light by how far a face turns from the eye, the same for both its sides."""
    return 0.55 + 0.45 * np.abs(normals[:, 2:])


def _tire(profile: Array) -> tuple[Array, Index, Array]:
    """Points, quads and normals of the tire's outside, from one edge of the profile to the other."""
    half = profile[::-1]
    line = np.vstack([half * [-1.0, 1.0], profile[1:] if profile[0, 0] == 0.0 else profile])
    around = np.linspace(0.0, 360.0, 181)
    points = point_at(line[:, 1], around[:, None], line[:, 0])
    count = len(line)
    first = (np.arange(len(around) - 1)[:, None] * count + np.arange(count - 1)).ravel()
    quads = np.column_stack([first, first + count, first + count + 1, first + 1])
    slope = np.gradient(line, axis=0)
    slope /= np.maximum(np.linalg.norm(slope, axis=1, keepdims=True), 1e-12)
    normals = point_at(slope[:, 0], around[:, None], -slope[:, 1])
    return points.reshape(-1, 3), quads, normals.reshape(-1, 3)


def _add_legend(scene: bpy.types.Scene, picture: ClearancePicture, extent: float) -> None:
    size, left, bottom = 0.05 * extent, -1.06 * extent, -0.62 * extent
    steps = clearance_legend(picture.required_mm)
    for row, step in enumerate(steps):
        low = np.array([left, bottom + row * 1.25 * size])
        _add_rectangle(scene, low, low + [1.6 * size, size], step.color)
        if step.hatched:
            for stripe in range(3):
                start = low + [(0.1 + 0.5 * stripe) * size, 0.0]
                _add_rectangle(scene, start, start + [0.25 * size, size], BLACK, 0.01 * extent)
        _add_text(scene, step.text, low + [1.9 * size, 0.2 * size], 0.75 * size)
    top = bottom + len(steps) * 1.25 * size
    _add_text(scene, "Clearance to the tire at its largest", np.array([left, top + 0.25 * size]), 0.75 * size)
    for row, line in enumerate(reversed(picture.lines)):
        _add_text(scene, line, np.array([-0.15 * extent, bottom - 0.02 * extent + row * 1.1 * size]), 0.75 * size)


def _add_rectangle(
    scene: bpy.types.Scene, low: Array, high: Array, color: tuple[float, float, float], height: float = 0.0
) -> None:
    corners = np.array([[low[0], low[1], height], [high[0], low[1], height], [high[0], high[1], height], [low[0], high[1], height]])
    _add_mesh(scene, corners, np.array([[0, 1, 2, 3]]), np.tile(color, (4, 1)))


def _add_mesh(scene: bpy.types.Scene, points: Array, quads: Index, colors: Array) -> None:
    mesh = bpy.data.meshes.new("Clearance picture")
    mesh.from_pydata(points.astype(np.float32), [], quads)
    attribute = mesh.color_attributes.new("color", "FLOAT_COLOR", "POINT")
    linear = np.ones((len(points), 4), dtype=np.float32)
    linear[:, :3] = _linear(np.clip(colors, 0.0, 1.0))
    attribute.data.foreach_set("color", linear.ravel())
    mesh.materials.append(_material("Clearance picture colors", None))
    _link(scene, mesh)


def _add_text(scene: bpy.types.Scene, text: str, place: Array, size: float, align: str = "LEFT") -> None:
    curve = bpy.data.curves.new("Clearance picture", "FONT")
    curve.body, curve.size, curve.align_x = text, size, align
    curve.materials.append(_material("Clearance picture ink", _INK))
    _link(scene, curve).location = (float(place[0]), float(place[1]), 0.0)


def _link(scene: bpy.types.Scene, data: bpy.types.ID) -> bpy.types.Object:
    ob = bpy.data.objects.new("Clearance picture", data)
    scene.collection.objects.link(ob)
    return ob


def _linear(color: Array) -> Array:
    """sRGB to linear light (IEC 61966-2-1)."""
    return np.where(color <= 0.04045, color / 12.92, ((color + 0.055) / 1.055) ** 2.4)


def _material(name: str, color: tuple[float, float, float] | None) -> bpy.types.Material:
    """A material that only shines: in one color, or in the mesh's own colors."""
    found = bpy.data.materials.get(name)
    if found is not None:
        return found
    material = bpy.data.materials.new(name)
    if bpy.app.version < (5, 0, 0):
        material.use_nodes = True
    tree = material.node_tree
    tree.nodes.clear()
    shine = tree.nodes.new("ShaderNodeEmission")
    output = tree.nodes.new("ShaderNodeOutputMaterial")
    tree.links.new(shine.outputs["Emission"], output.inputs["Surface"])
    if color is None:
        own = tree.nodes.new("ShaderNodeAttribute")
        own.attribute_name = "color"
        tree.links.new(own.outputs["Color"], shine.inputs["Color"])
    else:
        shine.inputs["Color"].default_value = (*_linear(np.array(color)), 1.0)
    return material


def _render(scene: bpy.types.Scene, width: float, path: Path) -> None:
    camera = bpy.data.cameras.new("Clearance picture")
    camera.type, camera.ortho_scale, camera.clip_end = "ORTHO", width, 10.0 * width
    scene.camera = _link(scene, camera)
    scene.camera.location = (0.0, 0.0, 5.0 * width)
    world = bpy.data.worlds.new("Clearance picture")
    world.color = tuple(_linear(np.array(_PAPER)))
    if bpy.app.version < (5, 0, 0):
        world.use_nodes = True
    background = next(node for node in world.node_tree.nodes if node.type == "BACKGROUND")
    background.inputs["Color"].default_value = (*_linear(np.array(_PAPER)), 1.0)
    scene.world = world
    render = scene.render
    render.engine, render.film_transparent = "CYCLES", False
    render.resolution_x, render.resolution_y, render.resolution_percentage = *_SIZE, 100
    render.image_settings.file_format, render.image_settings.color_mode = "PNG", "RGB"
    render.filepath = str(path)
    scene.cycles.device, scene.cycles.samples, scene.cycles.max_bounces = "CPU", _SAMPLES, 0
    scene.cycles.use_denoising = scene.cycles.use_adaptive_sampling = False
    scene.view_settings.view_transform = "Standard"
    bpy.ops.render.render(write_still=True, scene=scene.name)
