# SPDX-License-Identifier: GPL-3.0-or-later
"""The map drawn off screen, pixel by pixel against the published colors; and that nothing of it stays behind."""

from dataclasses import dataclass
from functools import cache
from typing import Any

import bpy
import gpu
import numpy as np
import pytest
from mathutils import Euler, Matrix, Vector

from addon.core.base.arrays import Array
from addon.core.colors.clearance_map import SPAN_MM, clearance_colors
from addon.core.tables.clearance_map import BLACK, VERMILLION
from addon.ui.draw.canvas import Canvas, CanvasPicture
from addon.ui.draw.skin_buffers import skin_index
from addon.ui.shape import map_overlay, view_overlay
from tests.host.extension_scene import extension

SIZE = 64
ROUNDING = 1.5 / 255
"""Colors come back in steps of 1/255."""
off_screen = pytest.mark.skipif(not hasattr(gpu, "init"), reason="hosts before 5.2 draw nothing without a window")


@dataclass(frozen=True)
class Plate:
    """Stands in for a shaped cage: two triangles with an excess at each corner."""

    skin: Array
    excess: Array


@pytest.fixture(scope="module")
def graphics() -> None:
    gpu.init()


@cache
def off_screen_target() -> Any:
    return gpu.types.GPUOffScreen(SIZE, SIZE)


@cache
def map_shader_and_colors() -> tuple[Any, Any]:
    """One for all: without a window a shader stays bound when it is freed, and the host may take the next for it."""
    return map_overlay.map_shader(), map_overlay.map_colors()


def drawn(draw: Any) -> Array:
    """Pixels (SIZE, SIZE, 4) from below of what is drawn on black."""
    with off_screen_target().bind():
        picture = gpu.state.active_framebuffer_get()
        picture.clear(color=(0.0, 0.0, 0.0, 1.0), depth=1.0)
        draw()
        pixels = picture.read_color(0, 0, SIZE, SIZE, 4, 0, "FLOAT")
    return np.array(pixels.to_list()).reshape(SIZE, SIZE, 4)


def plate(excess: tuple[float, float, float, float], mirrored: bool = False, z: float = 0.0) -> Any:
    """A drawing of the square 0..1 (x, y), seen straight on, with an excess at its corners."""
    corners = np.array([[0.0, 0.0, z], [1.0, 0.0, z], [1.0, 1.0, z], [0.0, 1.0, z]])
    index = skin_index(np.array([[0, 1, 2, 3]]))
    batch = map_overlay.map_batch(Plate(corners, np.array(excess)), index)  # type: ignore[arg-type]
    shader, colors = map_shader_and_colors()
    return lambda: map_overlay.draw_map(shader, colors, batch, Matrix.Identity(4), (0.0, 0.0, 1.0, 0.0), mirrored=mirrored)


@off_screen
@pytest.mark.parametrize("excess", [0.0, 3.0, 11.0, 19.9, 45.0])
def test_clear_skin_has_the_color_of_its_excess(graphics: None, excess: float) -> None:
    pixels = drawn(plate((excess,) * 4))
    expected = clearance_colors(np.array([excess]), np.zeros((1, 3)))[0]
    np.testing.assert_allclose(pixels[33:, 33:].reshape(-1, 4), np.tile(expected, (31 * 31, 1)), atol=ROUNDING)
    np.testing.assert_allclose(pixels[:, :31, :3], 0.0)


@off_screen
def test_mirror_image_is_drawn_too(graphics: None) -> None:
    pixels = drawn(plate((0.0, SPAN_MM, SPAN_MM, 0.0), mirrored=True))
    np.testing.assert_allclose(pixels[40, :32], pixels[40, :31:-1], atol=0.03)
    assert pixels[40, 62, 0] > 0.9
    assert pixels[40, 33, 0] < 0.1


@off_screen
def test_broken_skin_is_striped_with_a_rim(graphics: None) -> None:
    broken = drawn(plate((-4.0,) * 4))[34:62, 34:62, :3]
    dark = np.abs(broken - BLACK).max(axis=2) < ROUNDING
    bright = np.abs(broken - VERMILLION).max(axis=2) < ROUNDING
    assert (dark | bright).all() and 0.3 < dark.mean() < 0.7
    rows = drawn(plate((5.0, 5.0, -5.0, -5.0)))[32:, 40, :3]
    clear = clearance_colors(np.array([0.5]), np.zeros((1, 3)))[0, :3]
    edge = 16
    assert np.abs(rows[edge - 2] - clear).max() < 0.1
    np.testing.assert_allclose(rows[edge + 1], BLACK, atol=ROUNDING)


@off_screen
def test_contact_without_a_break_has_no_stripes(graphics: None) -> None:
    """The guard holds the skin at 0 within its tolerance over whole areas; they are clear."""
    pixels = drawn(plate((0.0, -0.0005, 0.0002, -0.0009)))[33:, 33:, :3]
    np.testing.assert_allclose(
        pixels, np.broadcast_to(clearance_colors(np.zeros(1), np.zeros((1, 3)))[0, :3], pixels.shape), atol=ROUNDING
    )


@off_screen
def test_nearer_surface_hides_the_map(graphics: None) -> None:
    front, back = plate((SPAN_MM,) * 4, z=-0.5), plate((0.0,) * 4, z=0.5)

    def both() -> None:
        front()
        back()

    assert drawn(both)[40, 40, 0] > 0.9


def test_map_stands_before_the_surface_at_the_same_place_on_the_screen() -> None:
    """Perspective and parallel: the same pixel, and nearer by a share of the way to the eye."""
    view = (Matrix.Translation((100.0, -1200.0, 700.0)) @ Euler((1.0, 0.1, 0.3)).to_matrix().to_4x4()).inverted()
    near, far = 1.0, 10_000.0
    perspective = Matrix.Diagonal((1.5, 1.5, 1.0, 1.0))
    perspective[2][2], perspective[2][3] = -(far + near) / (far - near), -2.0 * far * near / (far - near)
    perspective[3][2], perspective[3][3] = -1.0, 0.0
    parallel = Matrix.Diagonal((0.002, 0.002, -2.0 / (2 * far), 1.0))
    point = Vector((40.0, -20.0, 330.0, 1.0))
    for window, is_perspective in ((perspective, True), (parallel, False)):
        matrix, eye = map_overlay.before_surface(window, view, 1400.0, is_perspective)
        plain, moved = window @ view @ point, matrix @ point
        plain, moved = plain / plain.w, moved / moved.w
        assert plain[:2] == pytest.approx(moved[:2], abs=1e-5)
        assert moved.z < plain.z
        assert eye[3] == float(is_perspective)
    toward_eye = Euler((1.0, 0.1, 0.3)).to_matrix() @ Vector((0.0, 0.0, 1.0))
    assert eye[:3] == pytest.approx(tuple(toward_eye), abs=1e-5)


@off_screen
def test_canvas_is_the_same_as_an_image(graphics: None) -> None:
    """A half-transparent area over black has half its color, where it was put and nowhere else; so has the image of it."""
    canvas = Canvas(1.0)
    canvas.rectangle(8.0, 16.0, 40.0, 48.0, (1.0, 0.5, 0.0, 0.5))
    canvas.rectangle(8.0, 16.0, 12.0, 20.0, (0.0, 0.0, 1.0, 1.0))
    picture = CanvasPicture()
    picture.show(canvas)

    def draw() -> None:
        with gpu.matrix.push_pop(), gpu.matrix.push_pop_projection():
            gpu.matrix.load_identity()
            flat = Matrix.Diagonal((2.0 / SIZE, 2.0 / SIZE, -1.0, 1.0))
            flat.translation = (-1.0, -1.0, 0.0)
            gpu.matrix.load_projection_matrix(flat)
            picture.draw()

    pixels = drawn(draw)[:, :, :3]
    np.testing.assert_allclose(pixels[20:48, 12:40], np.broadcast_to([0.5, 0.25, 0.0], (28, 28, 3)), atol=ROUNDING)
    np.testing.assert_allclose(pixels[16:20, 8:12], np.broadcast_to([0.0, 0.0, 1.0], (4, 4, 3)), atol=ROUNDING)
    assert np.count_nonzero(pixels.any(axis=2)) == 32 * 32


def test_drawing_handlers_are_taken_back() -> None:
    """Each handler that is added is removed: the host refuses to remove one that is not there."""
    hooks = [map_overlay._HOOK, view_overlay._HOOK]
    with extension():
        handles = [hook._handle for hook in hooks]
        assert all(hook.is_hung for hook in hooks)
    assert not any(hook.is_hung for hook in hooks)
    for handle in handles:
        with pytest.raises((ValueError, RuntimeError)):
            bpy.types.SpaceView3D.draw_handler_remove(handle, "WINDOW")
