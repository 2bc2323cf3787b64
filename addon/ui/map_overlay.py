# SPDX-License-Identifier: GPL-3.0-or-later
"""The clearance map in the 3D view: the skin in its colors, just before the host's own surface."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import bpy
import gpu
import numpy as np

from ..core.arrays import Index
from ..core.clearance_map import SPAN_MM, clearance_colors
from ..core.shaper import Shaped
from . import session
from .settings import settings_of

_TYPES: Any = gpu.types
_TOWARD_EYE = 4e-5
"""Share of the depth by which the map stands before the surface that it covers."""

_VERTEX = """
void main()
{
  vec4 place = ViewProjectionMatrix * vec4(pos.x * side, pos.y, pos.z, 1.0);
  eye_pos = (ViewMatrix * vec4(pos.x * side, pos.y, pos.z, 1.0)).xyz;
  place.z -= toward_eye * place.w;
  gl_Position = place;
  tint = color;
  over = excess;
}
"""
_FRAGMENT = """
void main()
{
  vec3 facet = normalize(cross(dFdx(eye_pos), dFdy(eye_pos)));
  float light = 0.55 + 0.45 * abs(facet.z);
  vec3 shown = tint.rgb;
  if (over < -0.001) {
    shown = mod(gl_FragCoord.x + gl_FragCoord.y, 14.0) < 5.0 ? vec3(0.0) : vec3(0.835, 0.369, 0.0);
    light = 1.0;
  }
  if (abs(over) < fwidth(over)) {
    shown = vec3(0.02);
  }
  fragColor = vec4(shown * light, 1.0);
}
"""


@dataclass(eq=False)
class _Drawn:
    """What is on the graphics processor: index of one topology, batch of one version of a scene."""

    shader: Any = None
    index: Any = None
    index_key: object = None
    batch: Any = None
    batch_key: object = None
    handle: Any = None


_DRAWN = _Drawn()


def map_shader() -> Any:
    """The shader of the map: color by vertex, stripes and an outline where the clearance is broken."""
    info = _TYPES.GPUShaderCreateInfo()
    info.push_constant("MAT4", "ViewProjectionMatrix")
    info.push_constant("MAT4", "ViewMatrix")
    info.push_constant("FLOAT", "side")
    info.push_constant("FLOAT", "toward_eye")
    info.vertex_in(0, "VEC3", "pos")
    info.vertex_in(1, "VEC4", "color")
    info.vertex_in(2, "FLOAT", "excess")
    between = _TYPES.GPUStageInterfaceInfo("fenderwright_map")
    between.smooth("VEC4", "tint")
    between.smooth("FLOAT", "over")
    between.smooth("VEC3", "eye_pos")
    info.vertex_out(between)
    info.fragment_out(0, "VEC4", "fragColor")
    info.vertex_source(_VERTEX)
    info.fragment_source(_FRAGMENT)
    return gpu.shader.create_from_info(info)


def map_index(quads: Index) -> Any:
    """Index buffer of a skin's quads (q, 4), two triangles each."""
    triangles = np.ascontiguousarray(quads[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3), dtype=np.uint32)
    return _TYPES.GPUIndexBuf(type="TRIS", seq=triangles)


def map_batch(shader: Any, shaped: Shaped, index: Any) -> Any:
    """Batch of the colored skin of one step."""
    vertices = _TYPES.GPUVertBuf(shader.format_calc(), len(shaped.skin))
    vertices.attr_fill("pos", np.ascontiguousarray(shaped.skin, dtype=np.float32))
    vertices.attr_fill("color", clearance_colors(shaped.excess, shaped.skin, SPAN_MM))
    vertices.attr_fill("excess", np.ascontiguousarray(shaped.excess, dtype=np.float32))
    return _TYPES.GPUBatch(type="TRIS", buf=vertices, elem=index)


def draw_batch(shader: Any, batch: Any, view_projection: Any, view: Any, *, mirrored: bool) -> None:
    """Draw a batch, and its mirror image; the host's drawing state is left as it was."""
    depth, mask = gpu.state.depth_test_get(), gpu.state.depth_mask_get()
    gpu.state.depth_test_set("LESS_EQUAL")
    gpu.state.depth_mask_set(True)
    try:
        shader.bind()
        shader.uniform_float("ViewProjectionMatrix", view_projection)
        shader.uniform_float("ViewMatrix", view)
        shader.uniform_float("toward_eye", _TOWARD_EYE)
        for side in (1.0, -1.0) if mirrored else (1.0,):
            shader.uniform_float("side", side)
            batch.draw(shader)
    finally:
        gpu.state.depth_test_set(depth)
        gpu.state.depth_mask_set(mask)


def _draw() -> None:
    context = bpy.context
    scene = context.scene
    state = session.of_scene(scene)
    shaped = state.shaped
    settings = settings_of(scene)
    if shaped is None or not settings.show_map or settings.cage_object is None or not settings.cage_object.visible_get():
        return
    _bring_up_to_date(shaped, (scene.session_uid, state.version))
    view = context.region_data
    draw_batch(_DRAWN.shader, _DRAWN.batch, view.perspective_matrix, view.view_matrix, mirrored=shaped.cage.topology.mirrored)


def _bring_up_to_date(shaped: Shaped, key: object) -> None:
    if _DRAWN.shader is None:
        _DRAWN.shader = map_shader()
    index_key = (shaped.stencil.topology.key, shaped.stencil.level)
    if _DRAWN.index_key != index_key:
        _DRAWN.index, _DRAWN.index_key = map_index(shaped.stencil.quads), index_key
        _DRAWN.batch_key = None
    if _DRAWN.batch_key != key:
        _DRAWN.batch, _DRAWN.batch_key = map_batch(_DRAWN.shader, shaped, _DRAWN.index), key


def register() -> None:
    _DRAWN.handle = bpy.types.SpaceView3D.draw_handler_add(_draw, (), "WINDOW", "POST_VIEW")


def unregister() -> None:
    global _DRAWN
    bpy.types.SpaceView3D.draw_handler_remove(_DRAWN.handle, "WINDOW")
    _DRAWN = _Drawn()
