# SPDX-License-Identifier: GPL-3.0-or-later
"""The rendered clearance map: the skin over the tire from two sides, with a legend in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import bpy
import numpy as np

from ..core.arrays import Array, Index, Mask
from ..core.clearance_map import clearance_colors, clearance_legend
from ..core.revolved import revolved
from ..core.skin import Skin
from ..core.tables.clearance_map import BLACK
from ..core.wheel_axes import station_of
from .quiet_host import quiet_host
from .temporary_scene import temporary_scene

_PIXELS = 90
_PAGE = (16.0, 9.0)
"""Pixels of one unit of the page, and its size in units."""
_SAMPLES = 6
_PAPER = (0.97, 0.97, 0.96)
_INK = (0.1, 0.1, 0.1)
_TIRE = (0.42, 0.42, 0.42)
_VIEWS = ((35.0, 22.0, "From the front left"), (-150.0, -20.0, "From the rear, below"))
"""Turn about the vertical and height of the eye, degrees, and caption of each view."""
_VIEW_SIZE = (5.6, 6.0)
_VIEW_LOW = ((0.5, 1.9), (6.5, 1.9))
_LEGEND_LOW = (12.6, 2.0)
_TEXT = 0.24
_TIRE_BEYOND_DEG = 6.0
_TINT = "Tint"
"""Attribute with the colors; one that is called "color" comes out black in a render."""


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
        for (turn, height, caption), low in zip(_VIEWS, _VIEW_LOW, strict=True):
            _add_view(scene, picture, _eye(turn, height), np.array(low))
            _add_text(scene, caption, np.array(low) + [0.5 * _VIEW_SIZE[0], -0.5], _TEXT, align="CENTER")
        _add_legend(scene, picture)
        for row, line in enumerate(picture.lines):
            _add_text(scene, line, np.array([0.5, 8.4 - 1.7 * _TEXT * row]), 1.1 * _TEXT)
        _render(scene, path)


def _eye(turn_deg: float, height_deg: float) -> Array:
    """Rows: right, up and toward the eye, for an eye at the front (-Y) turned to the rider's left."""
    turn, height = np.radians([turn_deg, height_deg])
    toward = np.array([np.sin(turn) * np.cos(height), -np.cos(turn) * np.cos(height), np.sin(height)])
    right = np.array([np.cos(turn), np.sin(turn), 0.0])
    return np.stack([right, np.cross(toward, right), toward])


def _add_view(scene: bpy.types.Scene, picture: ClearancePicture, eye: Array, low: Array) -> None:
    """The skin as large as its place on the page allows, and the part of the tire that is under it."""
    skin = picture.skin
    seen = skin.points @ eye.T
    least, size = seen.min(axis=0), np.ptp(seen, axis=0)
    scale = float(np.min(_VIEW_SIZE / size[:2]))
    shift = np.append(low + 0.5 * (_VIEW_SIZE - scale * size[:2]) - scale * least[:2], 0.0)
    colors = clearance_colors(picture.excess, skin.points)[:, :3].astype(np.float64)
    _add_mesh(scene, scale * seen + shift, skin.quads, colors * _shade(skin.normals @ eye.T))
    tire, quads, normals = revolved(picture.profile)
    under = _under(tire, station_of(skin.points))
    quads = quads[under[quads].all(axis=1)]
    _add_mesh(scene, scale * (tire @ eye.T) + shift, quads, np.array(_TIRE) * _shade(normals @ eye.T))


def _under(points: Array, stations: Array) -> Mask:
    """Points (n,) bool that lie under the fender or little beyond its ends."""
    beyond = _TIRE_BEYOND_DEG
    station = station_of(points)
    return (station > stations.min() - beyond) & (station < stations.max() + beyond)


def _shade(normals: Array) -> Array:
    """Share of light by how far a face turns from the eye, the same for both its sides."""
    return 0.55 + 0.45 * np.abs(normals[:, 2:])


def _add_legend(scene: bpy.types.Scene, picture: ClearancePicture) -> None:
    left, bottom = _LEGEND_LOW
    size = 1.5 * _TEXT
    steps = clearance_legend(picture.required_mm)
    for row, step in enumerate(steps):
        low = np.array([left, bottom + row * 1.3 * size])
        _add_rectangle(scene, low, low + [1.6 * size, size], step.color)
        if step.hatched:
            for stripe in range(3):
                start = low + [(0.1 + 0.5 * stripe) * size, 0.0]
                _add_rectangle(scene, start, start + [0.25 * size, size], BLACK, 0.01)
        _add_text(scene, step.text, low + [2.0 * size, 0.28 * size], _TEXT)
    top = bottom + len(steps) * 1.3 * size
    for row, line in enumerate(("of the part's face from", "Clearance that is left")):
        _add_text(scene, line, np.array([left, top + (0.9 + 0.9 * row) * size]), _TEXT)
    _add_text(scene, "the tire at its largest", np.array([left, top + 0.1 * size]), _TEXT)


def _add_rectangle(
    scene: bpy.types.Scene, low: Array, high: Array, color: tuple[float, float, float], height: float = 0.0
) -> None:
    corners = np.array(
        [[low[0], low[1], height], [high[0], low[1], height], [high[0], high[1], height], [low[0], high[1], height]]
    )
    _add_mesh(scene, corners, np.array([[0, 1, 2, 3]]), np.tile(color, (4, 1)))


def _add_mesh(scene: bpy.types.Scene, points: Array, quads: Index, colors: Array) -> None:
    mesh = bpy.data.meshes.new("Clearance picture")
    mesh.from_pydata(points.astype(np.float32), [], quads)
    attribute: Any = mesh.color_attributes.new(_TINT, "FLOAT_COLOR", "POINT")
    linear = np.ones((len(points), 4), dtype=np.float32)
    linear[:, :3] = _linear(np.clip(colors, 0.0, 1.0))
    attribute.data.foreach_set("color", linear.ravel())
    mesh.materials.append(_material("Clearance picture colors", None))
    _link(scene, mesh)


def _add_text(scene: bpy.types.Scene, text: str, place: Array, size: float, align: str = "LEFT") -> None:
    curve: Any = bpy.data.curves.new("Clearance picture", "FONT")
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
    found: bpy.types.Material | None = bpy.data.materials.get(name)
    if found is not None:
        return found
    material = bpy.data.materials.new(name)
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


def _render(scene: bpy.types.Scene, path: Path) -> None:
    camera = bpy.data.cameras.new("Clearance picture")
    camera.type, camera.ortho_scale, camera.clip_end = "ORTHO", _PAGE[0], 200.0
    scene.camera = _link(scene, camera)
    scene.camera.location = (0.5 * _PAGE[0], 0.5 * _PAGE[1], 100.0)
    world = bpy.data.worlds.new("Clearance picture")
    if bpy.app.version < (5, 0, 0):
        world.use_nodes = True
    background: Any = next(node for node in world.node_tree.nodes if node.type == "BACKGROUND")
    background.inputs["Color"].default_value = (*_linear(np.array(_PAPER)), 1.0)
    scene.world = world
    render: Any = scene.render
    render.engine, render.film_transparent = "CYCLES", False
    render.resolution_x, render.resolution_y = int(_PAGE[0] * _PIXELS), int(_PAGE[1] * _PIXELS)
    render.resolution_percentage = 100
    render.image_settings.file_format, render.image_settings.color_mode = "PNG", "RGB"
    render.filepath = str(path)
    scene.cycles.device, scene.cycles.samples, scene.cycles.max_bounces = "CPU", _SAMPLES, 0
    scene.cycles.use_denoising = scene.cycles.use_adaptive_sampling = False
    view: Any = scene.view_settings
    view.view_transform = "Standard"
    with quiet_host():
        bpy.ops.render.render(write_still=True, scene=scene.name)
