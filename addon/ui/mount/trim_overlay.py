# SPDX-License-Identifier: GPL-3.0-or-later
"""The trim in the 3D view: its edge as a line over the skin, and what is cut away dimmed and hatched."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import bpy
import gpu
from mathutils import Matrix

from ...core.base.arrays import Array
from ..draw.before_surface import before_surface
from ..draw.drawing_state import drawing_state
from ..draw.skin_buffers import skin_batch, skin_index
from ..draw.view_hook import ViewHook
from ..state import session
from ..state.scene_settings import settings_of

_TYPES: Any = gpu.types
_LINE_PIXELS = 1.6
_HATCH_PIXELS = 6.0

_VERTEX = """
void main()
{
  gl_Position = to_screen * vec4(pos, 1.0);
  gl_Position.z -= 1e-5 * gl_Position.w;
  kept = value;
}
"""
_FRAGMENT = """
void main()
{
  float pixels = kept / max(fwidth(kept), 1e-6);
  if (pixels > 2.0 * line) {
    discard;
  }
  if (abs(pixels) < line) {
    fragColor = vec4(1.0, 1.0, 1.0, 1.0);
  }
  else if (pixels > -2.0 * line) {
    fragColor = vec4(0.0, 0.0, 0.0, 1.0);
  }
  else {
    bool stripe = mod(gl_FragCoord.x - gl_FragCoord.y, 2.0 * hatch) < 0.5 * hatch;
    fragColor = vec4(0.1, 0.1, 0.1, stripe ? 0.9 : 0.6);
  }
}
"""
"""A white line with dark borders, as wide from near as from afar; the hatching runs the other way than that of broken clearance."""


@dataclass(eq=False)
class _Drawn:
    shader: Any = None
    index: Any = None
    index_key: object = None
    batch: Any = None
    batch_key: object = None


def trim_shader() -> Any:
    """The shader: by the value of the field in each pixel, mm."""
    info = _TYPES.GPUShaderCreateInfo()
    info.push_constant("MAT4", "to_screen")
    info.push_constant("FLOAT", "line")
    info.push_constant("FLOAT", "hatch")
    info.vertex_in(0, "VEC3", "pos")
    info.vertex_in(1, "FLOAT", "value")
    between = _TYPES.GPUStageInterfaceInfo("fenderwright_trim")
    between.smooth("FLOAT", "kept")
    info.vertex_out(between)
    info.fragment_out(0, "VEC4", "fragColor")
    info.vertex_source(_VERTEX)
    info.fragment_source(_FRAGMENT)
    return gpu.shader.create_from_info(info)


def trim_batch(points: Array, values: Array, index: Any) -> Any:
    """Batch of a skin's points (n, 3) with the field (n,) at them."""
    return skin_batch(points, "value", values, index)


def draw_trim(shader: Any, batch: Any, to_screen: Matrix, unit: float = 1.0) -> None:
    """Draw a batch over what is there; unit : of the interface, pixels. The host's drawing state is left as it was."""
    with drawing_state(hides_what_is_behind=False, blend="ALPHA"):
        shader.bind()
        shader.uniform_float("to_screen", to_screen)
        shader.uniform_float("line", _LINE_PIXELS * unit)
        shader.uniform_float("hatch", _HATCH_PIXELS * unit)
        batch.draw(shader)


def _draw(drawn: _Drawn) -> None:
    context = bpy.context
    scene = context.scene
    space: Any = context.space_data
    cage = settings_of(scene).cage_object
    state = session.of_scene(scene)
    shaped, shown = state.shaped, state.trim_view
    if shaped is None or shown is None or not shown.fits(shaped):
        return
    if not space.overlay.show_overlays or cage is None or not cage.visible_get(viewport=space):
        return
    if drawn.shader is None:
        drawn.shader = trim_shader()
    if drawn.index_key is not shown:
        drawn.index, drawn.index_key, drawn.batch_key = skin_index(shown.quads), shown, None
    key = (scene.session_uid, state.version)
    if drawn.batch_key != key:
        drawn.batch, drawn.batch_key = trim_batch(shown.points(shaped), shown.values, drawn.index), key
    view = context.region_data
    to_screen, _ = before_surface(view.window_matrix, view.view_matrix, view.view_distance, view.is_perspective)
    draw_trim(drawn.shader, drawn.batch, to_screen, context.preferences.system.ui_scale)


_HOOK = ViewHook(_draw, _Drawn, "POST_VIEW")
register, unregister = _HOOK.register, _HOOK.unregister
