# SPDX-License-Identifier: GPL-3.0-or-later
"""Triangles in pixels: areas in closed form, the nearest on top, and a slow twin."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.drawing.raster import Raster

WHITE, BLACK = np.ones(3), np.zeros(3)
DEPTHS = (-10.0, 10.0)


def square(low: float, high: float, depth: float) -> tuple[np.ndarray, np.ndarray]:
    points = np.array([[low, low, depth], [high, low, depth], [high, high, depth], [low, high, depth]])
    return points, np.array([[0, 1, 2], [0, 2, 3]])


def test_a_disc_darkens_its_area() -> None:
    angle = 2.0 * np.pi * np.arange(200) / 200
    rim = np.column_stack([60.3 + 41.7 * np.cos(angle), 55.1 + 41.7 * np.sin(angle), np.zeros(200)])
    points = np.vstack([rim, [[60.3, 55.1, 0.0]]])
    fan = np.column_stack([np.full(200, 200), np.arange(200), np.roll(np.arange(200), -1)])
    raster = Raster((120, 110), 4, DEPTHS)
    raster.add(points, fan, np.zeros((201, 3)))
    area = 0.5 * 200 * 41.7**2 * np.sin(2.0 * np.pi / 200)
    assert_allclose((1.0 - raster.image(WHITE)[:, :, 0]).sum(), area, rtol=2e-3)


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_the_nearest_is_on_top_in_whatever_order(order: tuple[int, int]) -> None:
    raster = Raster((40, 40), 2, DEPTHS)
    parts = [(square(5.0, 30.0, 1.0), np.array([1.0, 0.0, 0.0])), (square(15.0, 35.0, 4.0), np.array([0.0, 0.0, 1.0]))]
    for number in order:
        (points, triangles), color = parts[number]
        raster.add(points, triangles, np.tile(color, (4, 1)))
    image = raster.image(WHITE)
    assert_allclose(image[10, 10], [1, 0, 0])
    assert_allclose(image[20, 20], [0, 0, 1])
    assert_allclose(image[33, 33], [0, 0, 1])
    assert_allclose(image[2, 38], [1, 1, 1])


def test_colors_run_evenly_and_both_windings_are_drawn() -> None:
    points, triangles = square(0.0, 32.0, 0.0)
    raster = Raster((32, 32), 2, DEPTHS)
    raster.add(points, triangles[:, ::-1], np.column_stack([points[:, 0] / 32.0, points[:, 1] / 32.0, np.zeros(4)]))
    middle = (np.arange(32) + 0.5) / 32.0
    image = raster.image(WHITE)
    assert_allclose(image[:, :, 0], np.tile(middle, (32, 1)), atol=1e-5)
    assert_allclose(image[:, :, 1], np.tile(middle[:, None], (1, 32)), atol=1e-5)


def test_random_triangles_agree_with_a_loop_over_samples() -> None:
    rng = np.random.default_rng(31)
    points = rng.uniform(-8.0, 28.0, (60, 3)) * [1.0, 1.0, 0.3]
    triangles = rng.integers(0, 60, (25, 3))
    triangles = triangles[(triangles != np.roll(triangles, 1, axis=1)).all(axis=1)]
    colors = rng.uniform(0.0, 1.0, (60, 3))
    raster = Raster((20, 16), 1, DEPTHS)
    for some in np.array_split(triangles, 3):
        raster.add(points, some, colors)
    assert_allclose(raster.image(WHITE), slow_image(points, triangles, colors), atol=2e-4)


def slow_image(points: np.ndarray, triangles: np.ndarray, colors: np.ndarray) -> np.ndarray:
    image = np.ones((16, 20, 3))
    for row in range(16):
        for column in range(20):
            best = -np.inf
            for triangle in triangles:
                system = np.vstack([points[triangle, :2].T, np.ones(3)])
                share = np.linalg.solve(system, [column + 0.5, row + 0.5, 1.0])
                depth = share @ points[triangle, 2]
                if share.min() >= 0.0 and depth > best:
                    best, image[row, column] = depth, share @ colors[triangle]
    return image
