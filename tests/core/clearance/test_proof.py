# SPDX-License-Identifier: GPL-3.0-or-later
"""The proven least clearance of a mesh: closed forms, dense sampling, a body that is not convex."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.arrays import Array, Index
from addon.core.bodies.capsule import Capsule
from addon.core.bodies.meridian_body import MeridianBody
from addon.core.clearance.proof import proven_clearance
from tests.core.bodies.test_moving_bodies import Dumbbell
from tests.core.revolved import arc_profile, rotation

CUBE_TRIANGLES: Index = np.array(
    [
        [0, 1, 3],
        [0, 3, 2],
        [4, 6, 7],
        [4, 7, 5],
        [0, 4, 5],
        [0, 5, 1],
        [2, 3, 7],
        [2, 7, 6],
        [0, 2, 6],
        [0, 6, 4],
        [1, 5, 7],
        [1, 7, 3],
    ]
)


def cube(size: float = 1.0) -> Array:
    return size * (np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float) - 0.5)


def test_long_edge_over_a_cylinder() -> None:
    # The lower edges of the bar run along y 200 mm either way; its corners are far, its edge passes over the crown at 12 mm.
    bar = cube() * [20.0, 400.0, 10.0] + [0.0, 0.0, 317.0]
    proof = proven_clearance(bar, CUBE_TRIANGLES, MeridianBody([[50.0, 300.0]]))
    assert 12.0 - 1e-12 <= proof.min_mm <= 12.01
    assert 11.99 <= proof.proven_min_mm <= 12.0
    assert_allclose(proof.point[2], 312.0)


def test_cube_edge_beside_a_cylinder() -> None:
    # A cube of 40 on its edge, which runs along x: 8 mm over the crown, all of the edge equally near.
    turn = np.array([[1, 0, 0], [0, 1, -1], [0, 1, 1]]) / [[1.0], [np.sqrt(2)], [np.sqrt(2)]]
    on_edge = cube(40.0) @ turn.T + [0.0, 0.0, 308.0 + 20.0 * np.sqrt(2)]
    proof = proven_clearance(on_edge, CUBE_TRIANGLES, MeridianBody([[50.0, 300.0]]))
    assert_allclose([proof.min_mm, proof.proven_min_mm], 8.0, rtol=0, atol=0.01)
    assert proof.proven_min_mm <= 8.0 + 1e-9


def test_ball_under_the_middle_of_one_triangle() -> None:
    corners = np.array([[-200.0, -100.0, 30.0], [200.0, -100.0, 30.0], [0.0, 300.0, 30.0]])
    ball = Capsule([3, 5, 0], [3, 5, 0], 10.0)
    proof = proven_clearance(corners, [[0, 1, 2]], ball)
    assert_allclose([proof.min_mm, proof.proven_min_mm], 20.0, rtol=0, atol=0.01)
    assert proof.proven_min_mm <= 20.0 <= proof.min_mm + 1e-12


def test_large_triangle_is_nearer_inside_than_any_corner() -> None:
    # The small triangle's corners are the nearest ones, 40 mm off; the middle of the large one is 20 mm off.
    large = np.array([[-200.0, -100.0, 30.0], [200.0, -100.0, 30.0], [0.0, 300.0, 30.0]])
    small = np.array([[-1.0, 0.0, -50.0], [1.0, 0.0, -50.0], [0.0, 1.0, -50.0]])
    proof = proven_clearance(np.concatenate([large, small]), [[3, 4, 5], [0, 1, 2]], Capsule([0, 0, 0], [0, 0, 0], 10.0))
    assert_allclose(proof.min_mm, 20.0, rtol=0, atol=0.01)
    assert proof.triangle == 1


def test_second_hump_of_a_body_that_is_not_convex() -> None:
    # The middle is 20 over the small ball, whose plane is level; the large ball is 15 under another place.
    corners = np.array([[150.0, -20.0, 30.0], [-75.0, 100.0, 30.0], [-75.0, -80.0, 30.0]])
    proof = proven_clearance(corners, [[0, 1, 2]], Dumbbell())
    assert_allclose([proof.min_mm, proof.proven_min_mm], 15.0, rtol=0, atol=0.01)


def test_mesh_that_cuts_into_the_body() -> None:
    plate = cube() * [300.0, 300.0, 5.0]
    proof = proven_clearance(plate, CUBE_TRIANGLES, Capsule([20, 30, 2.5], [20, 30, 2.5], 40.0))
    assert_allclose([proof.min_mm, proof.proven_min_mm], -40.0, rtol=0, atol=0.01)
    assert proof.proven_min_mm <= -40.0 + 1e-9


@pytest.mark.parametrize("seed", range(12))
def test_bounds_dense_samples(seed: int) -> None:
    rng = np.random.default_rng(seed)
    body = (MeridianBody(arc_profile()), Capsule([0, 0, 300], [30, 20, 260], 20.0), Dumbbell())[seed % 3]
    middle = np.zeros(3) if isinstance(body, Dumbbell) else np.array([0, 0, 330.0])
    vertices = cube(60.0) @ rotation(rng).T + middle + rng.normal(scale=25.0, size=3)
    proof = proven_clearance(vertices, CUBE_TRIANGLES, body)
    shares = rng.dirichlet([0.6, 0.6, 0.6], (len(CUBE_TRIANGLES), 6000))
    samples = np.einsum("tnc,tcd->tnd", shares, vertices[CUBE_TRIANGLES]).reshape(-1, 3)
    least = body.distance(samples).min()
    assert proof.proven_min_mm <= least
    assert proof.min_mm <= least + 0.01
    assert 0.0 <= proof.min_mm - proof.proven_min_mm <= 0.01 + 1e-12
    shares_of_point = shares_of(vertices[CUBE_TRIANGLES[proof.triangle]], proof.point)
    assert (shares_of_point >= -1e-9).all()
    assert_allclose(body.distance(proof.point[None])[0], proof.min_mm)


def shares_of(corners: Array, point: Array) -> Array:
    """Shares (3,) of the corners in a point of the triangle; fails if the point is off its plane."""
    system = np.vstack([corners.T, np.ones(3)])
    shares = np.linalg.lstsq(system, np.append(point, 1.0), rcond=None)[0]
    assert_allclose(system @ shares, np.append(point, 1.0), rtol=0, atol=1e-9)
    return np.asarray(shares)


def test_fine_tolerance_is_kept() -> None:
    vertices = cube(60.0) @ rotation(np.random.default_rng(30)).T + [0.0, 0.0, 350.0]
    proof = proven_clearance(vertices, CUBE_TRIANGLES, MeridianBody(arc_profile()), tolerance=1e-4)
    assert 0.0 <= proof.min_mm - proof.proven_min_mm <= 1e-4 + 1e-12


def test_unused_vertices_do_not_count() -> None:
    vertices = np.vstack([cube(10.0) + [0, 0, 400.0], [[0.0, 0.0, 0.0]]])
    proof = proven_clearance(vertices, CUBE_TRIANGLES, MeridianBody([[50.0, 300.0]]))
    assert_allclose(proof.min_mm, 95.0, atol=0.01)


@pytest.mark.parametrize(
    ("triangles", "tolerance", "what"),
    [
        ([[0, 1]], 0.01, "shape"),
        (np.zeros((0, 3), int), 0.01, "shape"),
        ([[0, 1, 8]], 0.01, "index"),
        ([[0, 1, 2]], 0.0, "tolerance"),
    ],
)
def test_refuses_what_cannot_be_proven(triangles: Index, tolerance: float, what: str) -> None:
    with pytest.raises(ValueError, match=what):
        proven_clearance(cube(), triangles, Dumbbell(), tolerance)
