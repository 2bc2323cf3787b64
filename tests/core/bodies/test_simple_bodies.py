# SPDX-License-Identifier: GPL-3.0-or-later
"""Capsule, box, half-space and pad prism: closed forms, scipy's minimizer, trimesh, invariants."""

import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose
from scipy.optimize import lsq_linear

from addon.core.bodies.body import Body
from addon.core.bodies.box import Box
from addon.core.bodies.capsule import Capsule
from addon.core.bodies.half_space import HalfSpace
from addon.core.seat.pad_prism import PadPrism
from tests.core.body_invariants import check_convex, check_gradient, check_support, check_unit_slope
from tests.core.revolved import rotation


def bodies() -> dict[str, Body]:
    rng = np.random.default_rng(8)
    return {
        "capsule": Capsule([10.0, -20.0, 30.0], [-40.0, 10.0, 60.0], 12.0),
        "ball": Capsule([10.0, -20.0, 30.0], [10.0, -20.0, 30.0], 25.0),
        "box": Box([5.0, -10.0, 20.0], [60.0, 30.0, 44.0], rotation(rng)),
        "pad about four bolts": PadPrism(
            [5.0, -10.0, 20.0], rotation(rng), [[30, 10], [-20, 15], [25, -18], [-22, -20]], 14.0, 9.0
        ),
        "thick pad about two bolts": PadPrism([5.0, -10.0, 20.0], rotation(rng), [[30, 10], [-20, 15]], 8.0, 40.0),
        "thick pad about four bolts": PadPrism(
            [5.0, -10.0, 20.0], rotation(rng), [[30, 10], [-20, 15], [25, -18], [-22, -20]], 5.0, 60.0
        ),
        "disc": PadPrism([5.0, -10.0, 20.0], rotation(rng), [[30, 10]], 25.0, 12.0),
        "half-space": HalfSpace([0.0, 10.0, 0.0], [1.0, 2.0, -2.0]),
    }


@pytest.mark.parametrize("name", bodies())
def test_invariants(name: str) -> None:
    rng = np.random.default_rng(9)
    body, points = bodies()[name], rng.uniform(-90.0, 110.0, (3000, 3))
    assert body.convex
    check_unit_slope(body, points, rng)
    check_convex(body, points, rng)
    check_support(body, points, rng)
    check_gradient(body, points[body.distance(points) > 0.01])
    check_gradient(body, points, share=0.995)


def test_capsule_in_closed_form() -> None:
    rod = Capsule([0, 0, 0], [100, 0, 0], 10.0)
    points = np.array([[50, 15, 0], [103, 0, 4], [-6, 8, 0], [50, 0, 3], [50, 0, 0]], dtype=float)
    distance, gradient = rod.distance_and_gradient(points)
    assert_allclose(distance, [5, -5, 0, -7, -10], rtol=0, atol=1e-12)
    assert_allclose(gradient[:4], [[0, 1, 0], [0.6, 0, 0.8], [-0.6, 0.8, 0], [0, 0, 1]], rtol=0, atol=1e-12)
    assert gradient[4, 0] == 0.0 and np.isclose(np.linalg.norm(gradient[4]), 1.0)


def test_box_in_closed_form() -> None:
    box = Box([0, 0, 0], [20, 40, 60])
    points = np.array([[13, 0, 0], [13, 24, 0], [12, 21, 32], [0, 0, 0], [9, 0, 0], [0, 19.5, -29]], dtype=float)
    distance, gradient = box.distance_and_gradient(points)
    assert_allclose(distance, [3, 5, 3, -10, -1, -0.5], rtol=0, atol=1e-12)
    assert_allclose(gradient[:3], [[1, 0, 0], [0.6, 0.8, 0], [2 / 3, 1 / 3, 2 / 3]], rtol=0, atol=1e-12)
    assert_allclose(gradient[4:], [[1, 0, 0], [0, 1, 0]], rtol=0, atol=1e-12)


def test_box_outside_equals_scipy() -> None:
    # Nearest point as bounded least squares in the axes of the box; lsq_linear to 1e-12.
    box = bodies()["box"]
    assert isinstance(box, Box)
    for point in np.random.default_rng(10).uniform(-90.0, 110.0, (40, 3)):
        found = lsq_linear(box.axes.T, point - box.center, bounds=(-box.half, box.half), tol=1e-14, method="bvls")
        assert_allclose(max(0.0, box.distance(point[None])[0]), np.sqrt(2.0 * found.cost), rtol=0, atol=1e-6)


def test_box_inside_equals_trimesh() -> None:
    box = bodies()["box"]
    assert isinstance(box, Box)
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = box.axes.T, box.center
    twin = trimesh.creation.box(extents=2 * box.half, transform=matrix)
    points = box.center + np.random.default_rng(11).uniform(-1.3, 1.3, (200, 3)) * box.half @ box.axes
    assert_allclose(box.distance(points), -trimesh.proximity.signed_distance(twin, points), rtol=0, atol=1e-6)


def test_pad_in_closed_form() -> None:
    """A pad of 10 about a square of bolts 40 apart, 6 thick on the side of +z."""
    pad = PadPrism([0, 0, 0], np.eye(3), [[20, 20], [-20, 20], [20, -20], [-20, -20]], 10.0, 6.0)
    points = np.array([[0, 0, -2], [33, 0, 10], [26, 28, 3], [0, 0, 2], [29, 0, 3], [0, 19, 3], [27.2, 0, 3]], dtype=float)
    distance, gradient = pad.distance_and_gradient(points)
    assert_allclose(distance, [2, 5, 0, -2, -1, -3, -2.8], rtol=0, atol=1e-12)
    assert_allclose(gradient[[0, 1, 3, 4]], [[0, 0, -1], [0.6, 0, 0.8], [0, 0, -1], [1, 0, 0]], rtol=0, atol=1e-12)
    with pytest.raises(ValueError, match="thickness 0"):
        PadPrism([0, 0, 0], np.eye(3), [[0, 0]], 10.0, 0.0)
    with pytest.raises(ValueError, match="square to each other"):
        PadPrism([0, 0, 0], 2.0 * np.eye(3), [[0, 0]], 10.0, 6.0)


@pytest.mark.parametrize("name", ["pad about four bolts", "thick pad about two bolts", "thick pad about four bolts", "disc"])
def test_pad_equals_trimesh(name: str) -> None:
    """The hull of discs with 720 corners, in and out; their sagitta is 25 (1 - cos(pi / 720)) = 2.4e-4 mm at most."""
    pad = bodies()[name]
    assert isinstance(pad, PadPrism)
    turn = np.arange(720) * np.pi / 360.0
    rims = (pad.bolts[:, None] + pad.pad * np.column_stack([np.cos(turn), np.sin(turn)])).reshape(-1, 2)
    corners = np.concatenate([np.column_stack([rims, np.full(len(rims), level)]) for level in (0.0, pad.thickness)])
    twin = trimesh.PointCloud(pad.origin + corners @ pad.axes).convex_hull
    low, high = corners.min(axis=0) - 10.0, corners.max(axis=0) + 10.0
    points = pad.origin + np.random.default_rng(12).uniform(low, high, (150, 3)) @ pad.axes
    assert_allclose(pad.distance(points), -trimesh.proximity.signed_distance(twin, points), rtol=0, atol=3e-4)
    assert 5 < (pad.distance(points) < 0.0).sum() < 130


def test_half_space_in_closed_form() -> None:
    distance, gradient = HalfSpace([0, 0, 10], [0, 0, 5]).distance_and_gradient(np.array([[1.0, 2.0, 13.0], [9.0, 9.0, 4.0]]))
    assert_allclose(distance, [3.0, -6.0])
    assert_allclose(gradient, [[0, 0, 1], [0, 0, 1]])


def test_refuses_what_is_no_body() -> None:
    with pytest.raises(ValueError, match="radius"):
        Capsule([0, 0, 0], [1, 0, 0], 0.0)
    with pytest.raises(ValueError, match="finite"):
        Capsule([0, 0, np.inf], [1, 0, 0], 1.0)
    with pytest.raises(ValueError, match="size"):
        Box([0, 0, 0], [1, 0, 1])
    with pytest.raises(ValueError, match="axes"):
        Box([0, 0, 0], [1, 1, 1], [[1, 0, 0], [0.1, 1, 0], [0, 0, 1]])
    with pytest.raises(ValueError, match="normal"):
        HalfSpace([0, 0, 0], [0, 0, 0])
