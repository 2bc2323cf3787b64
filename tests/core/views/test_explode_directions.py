# SPDX-License-Identifier: GPL-3.0-or-later
"""Which way pieces and pins are pulled apart, by hand."""

import numpy as np
from numpy.testing import assert_allclose

from addon.core.views.explode_directions import explode_directions


def cube(x: float, y: float, half: float) -> np.ndarray:
    return np.array([[x - half, y - half, -half], [x + half, y + half, half]])


def test_pieces_leave_their_common_middle_and_a_pin_stays_between_its_two() -> None:
    row = [cube(-100.0, 0.0, 51.0), cube(0.0, 0.0, 51.0), cube(100.0, 0.0, 51.0)]
    assert_allclose(explode_directions(row), [[-1, 0, 0], [0, 0, 0], [1, 0, 0]])
    pinned = explode_directions([*row, cube(-50.0, 30.0, 2.0), cube(50.0, -30.0, 2.0)])
    assert_allclose(pinned, [[-1, 0, 0], [0, 0, 0], [1, 0, 0], [-0.5, 0, 0], [0.5, 0, 0]])


def test_a_single_piece_stays() -> None:
    assert_allclose(explode_directions([cube(3.0, 4.0, 5.0)]), np.zeros((1, 3)))
