# SPDX-License-Identifier: GPL-3.0-or-later
"""The clearance map in the 3D view: the skin in its colors, just before the host's own surface."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import bpy
import gpu
import numpy as np
from mathutils import Matrix

from ...core.base.tolerances import TOLERANCES
from ...core.clearance.hardware_clearance import hardware_excess
from ...core.colors.clearance_map import SPAN_MM, clearance_colors
from ...core.shaping.shaper import Shaped
from ...core.tables.clearance_map import BLACK, VERMILLION
from ..draw.before_surface import before_surface
from ..draw.drawing_state import drawing_state
from ..draw.skin_buffers import skin_batch, skin_index, triangle_index
from ..draw.view_hook import ViewHook
from ..state import session
from ..state.scene_settings import settings_of
from .cage_overlay import CagePicture, cage_lines

_TYPES: Any = gpu.types
_COLORS = 256
"""By what share of its way to the eye the map stands before the surface that it covers."""
_STRIPE_PIXELS = 7.0

_VERTEX = """
void main()
{
  vec3 place = vec3(pos.x * side, pos.y, pos.z);
  gl_Position = to_screen * vec4(place, 1.0);
  at = place;
  over = excess;
}
"""
_FRAGMENT = f"""
vec3 linear_light(vec3 color)
{{
  return mix(pow((color + 0.055) / 1.055, vec3(2.4)), color / 12.92, lessThan(color, vec3(0.04045)));
}}

void main()
{{
  vec3 facet = normalize(cross(dFdx(at), dFdy(at)));
  vec3 to_eye = normalize(eye.xyz - eye.w * at);
  float light = 0.68 + 0.32 * abs(dot(facet, to_eye));
  float step = clamp(over * {(_COLORS - 1) / SPAN_MM}, 0.0, {_COLORS - 1}.0);
  vec3 shown = texelFetch(colors, ivec2(int(step), 0), 0).rgb * light;
  float broken = -{TOLERANCES.clear} - over;
  if (broken > 0.0) {{
    bool dark = mod(gl_FragCoord.x + gl_FragCoord.y, 2.0 * stripe) < stripe || broken < 1.5 * fwidth(over);
    shown = dark ? vec3{BLACK} : vec3{VERMILLION};
  }}
  fragColor = vec4(in_linear_light == 1 ? linear_light(shown) : shown, 1.0);
}}
"""
"""Stripes run at 45 degrees on the screen; the broken zone has a dark rim. The colors keep their light by facets, at any shading."""


@dataclass(eq=False)
class _Drawn:
    """What is on the graphics processor: index of one topology, batch of one version of a scene."""

    shader: Any = None
    colors: Any = None
    index: Any = None
    index_key: object = None
    batch: Any = None
    batch_key: object = None
    hardware: Any = None
    cage: CagePicture | None = None
    cage_key: object = None


def map_shader() -> Any:
    """The shader of the map: color by excess in each pixel, stripes and a rim where the clearance is broken."""
    info = _TYPES.GPUShaderCreateInfo()
    info.push_constant("MAT4", "to_screen")
    info.push_constant("VEC4", "eye")
    info.push_constant("FLOAT", "side")
    info.push_constant("FLOAT", "stripe")
    info.push_constant("INT", "in_linear_light")
    info.sampler(0, "FLOAT_2D", "colors")
    info.vertex_in(0, "VEC3", "pos")
    info.vertex_in(1, "FLOAT", "excess")
    between = _TYPES.GPUStageInterfaceInfo("fenderwright_map")
    between.smooth("VEC3", "at")
    between.smooth("FLOAT", "over")
    info.vertex_out(between)
    info.fragment_out(0, "VEC4", "fragColor")
    info.vertex_source(_VERTEX)
    info.fragment_source(_FRAGMENT)
    return gpu.shader.create_from_info(info)


def map_colors() -> Any:
    """Texture of the colors, from the required clearance upward over SPAN_MM."""
    excess = np.linspace(0.0, SPAN_MM, _COLORS)
    values = clearance_colors(excess, np.zeros((_COLORS, 3)))
    return _TYPES.GPUTexture((_COLORS, 1), format="RGBA32F", data=_TYPES.Buffer("FLOAT", values.size, values.ravel()))


def map_batch(shaped: Shaped, index: Any) -> Any:
    """Batch of the skin of one step with its excess."""
    return skin_batch(shaped.skin, "excess", shaped.excess, index)


def draw_map(
    shader: Any,
    colors: Any,
    batch: Any,
    to_screen: Matrix,
    eye: tuple[float, ...],
    *,
    mirrored: bool,
    unit: float = 1.0,
    linear: bool = False,
) -> None:
    """Draw a batch, and its mirror image; the host's drawing state is left as it was.

    unit : of the interface, pixels; linear : True where the host takes colors in linear light, as the 3D view does
    """
    with drawing_state(hides_what_is_behind=True):
        shader.bind()
        shader.uniform_sampler("colors", colors)
        shader.uniform_float("to_screen", to_screen)
        shader.uniform_float("eye", eye)
        shader.uniform_float("stripe", _STRIPE_PIXELS * unit)
        shader.uniform_int("in_linear_light", int(linear))
        for side in (1.0, -1.0) if mirrored else (1.0,):
            shader.uniform_float("side", side)
            batch.draw(shader)


def _draw(drawn: _Drawn) -> None:
    context = bpy.context
    scene = context.scene
    space: Any = context.space_data
    settings = settings_of(scene)
    cage = settings.cage_object
    if not settings.show_map or not space.overlay.show_overlays or cage is None or not cage.visible_get(viewport=space):
        return
    state = session.of_scene(scene)
    shaped = state.shaped
    if shaped is None:
        return
    key = (scene.session_uid, state.version)
    _bring_up_to_date(drawn, state, shaped, key)
    view, unit = context.region_data, context.preferences.system.ui_scale
    to_screen, eye = before_surface(view.window_matrix, view.view_matrix, view.view_distance, view.is_perspective)
    mirrored = shaped.cage.topology.mirrored
    draw_map(drawn.shader, drawn.colors, drawn.batch, to_screen, eye, mirrored=mirrored, unit=unit, linear=True)
    if drawn.hardware is not None:
        draw_map(drawn.shader, drawn.colors, drawn.hardware, to_screen, eye, mirrored=False, unit=unit, linear=True)
    if cage.mode == "EDIT":
        if drawn.cage is None or drawn.cage_key != key:
            theme = context.preferences.themes[0].view_3d
            drawn.cage, drawn.cage_key = CagePicture(cage_lines(cage.data), theme), key
        drawn.cage.draw(to_screen, unit)


def _bring_up_to_date(drawn: _Drawn, state: session.SceneState, shaped: Shaped, key: object) -> None:
    if drawn.shader is None:
        drawn.shader, drawn.colors = map_shader(), map_colors()
    index_key = (shaped.stencil.topology.key, shaped.stencil.level)
    if drawn.index_key != index_key:
        drawn.index, drawn.index_key = skin_index(shaped.stencil.quads), index_key
        drawn.batch_key = None
    if drawn.batch_key != key:
        drawn.batch, drawn.batch_key = map_batch(shaped, drawn.index), key
        drawn.hardware = None
        if state.facts is not None and state.facts.hardware:
            mesh, over = hardware_excess(state.facts.hardware)
            drawn.hardware = skin_batch(mesh.vertices, "excess", over, triangle_index(mesh.triangles))


_HOOK = ViewHook(_draw, _Drawn, "POST_VIEW")
register, unregister = _HOOK.register, _HOOK.unregister
