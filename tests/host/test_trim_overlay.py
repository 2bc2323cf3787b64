# SPDX-License-Identifier: GPL-3.0-or-later
"""The trim drawn off screen: its line where the field is 0, hatching where it is cut away, nothing where it stays."""

import gpu
import numpy as np
import pytest
from mathutils import Matrix

from addon.ui.draw.skin_buffers import skin_index
from addon.ui.mount import trim_overlay
from addon.ui.shape.trouble_overlay import trouble_lines
from tests.host.test_map_overlay import SIZE, drawn

off_screen = pytest.mark.skipif(not hasattr(gpu, "init"), reason="hosts before 5.2 draw nothing without a window")


@off_screen
def test_the_edge_is_a_line_and_what_goes_is_hatched() -> None:
    """A square over the whole picture with a field that falls from 10 below to -10 above; its zero is at half height."""
    gpu.init()
    corners = np.array([[-1.0, -1.0, 0.0], [1.0, -1.0, 0.0], [1.0, 1.0, 0.0], [-1.0, 1.0, 0.0]])
    index = skin_index(np.array([[0, 1, 2, 3]]))
    batch = trim_overlay.trim_batch(corners, np.array([10.0, 10.0, -10.0, -10.0]), index)
    shader = trim_overlay.trim_shader()
    pixels = drawn(lambda: trim_overlay.draw_trim(shader, batch, Matrix.Identity(4)))
    half = SIZE // 2
    assert (pixels[: half - 4, :, :3] == 0.0).all()  # the black that was there
    assert (pixels[half - 1 : half + 1, :, :3] > 0.99).all()
    above = pixels[half + 6 :, :, 0]
    assert 0.0 < above.min() < above.max() < 0.2
    assert 0.15 < (above > above.mean()).mean() < 0.85


def test_a_sentence_is_broken_into_lines_beside_its_place() -> None:
    sentence = "opening[0]: the opening cuts the seat at station 0 deg, x = 0 mm; keep it 3 mm or more outside the seat"
    lines = trouble_lines(sentence)
    assert " ".join(lines) == sentence and max(map(len, lines)) <= 52 and len(lines) == 2
