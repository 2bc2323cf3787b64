# SPDX-License-Identifier: GPL-3.0-or-later
"""Flat faces get Delaunay's triangles; scipy's are the second implementation."""

import numpy as np
from numpy.testing import assert_allclose
from scipy.spatial import Delaunay

from addon.core.mesh.delaunay_flips import delaunay_flips
from addon.core.mesh.prism import slab
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.wall.closed_wall import closed_wall
from tests.core.torus_surface import torus_surface
from tests.crossing_pairs import crossing_pairs


def fanned(rng: np.random.Generator, count: int) -> tuple[np.ndarray, TriangleMesh]:
    """Corners of a convex polygon 100 mm long, and a prism over it, tilted in space, both faces in a fan from one corner."""
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, count))
    flat = np.column_stack([50.0 * np.cos(angle), 3.0 * np.sin(angle)])
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    low, high = (np.column_stack([flat, np.full(count, height)]) @ turn.T + [0.0, 30.0, 300.0] for height in (0.0, 5.0))
    fan = np.array([[0, i, i + 1] for i in range(1, count - 1)])
    return flat, slab(low, high, fan, np.arange(count))


def test_a_fan_becomes_delaunays_triangles() -> None:
    rng = np.random.default_rng(17)
    for count in (5, 20, 80):
        flat, mesh = fanned(rng, count)
        even = delaunay_flips(mesh)
        assert even.is_closed and (even.vertices == mesh.vertices).all()
        assert_allclose(even.volume, mesh.volume, rtol=1e-9)
        expected = {tuple(sorted(triangle)) for triangle in Delaunay(flat).simplices.tolist()}
        low = [tuple(sorted(triangle)) for triangle in even.triangles.tolist() if max(triangle) < count]
        assert set(low) == expected and len(low) == len(expected)


def test_rounded_to_float32_it_stays_closed_and_does_not_cross_itself() -> None:
    rng = np.random.default_rng(18)
    for _ in range(5):
        _, mesh = fanned(rng, 60)
        rounded = TriangleMesh(mesh.vertices.astype(np.float32).astype(np.float64), mesh.triangles)
        even = delaunay_flips(rounded)
        assert even.is_closed and crossing_pairs(even).shape == (0, 2)
        assert_allclose(even.volume, mesh.volume, rtol=1e-5)


def test_what_is_not_flat_is_left_alone() -> None:
    """A wall with a bend everywhere: its faces keep their triangles; narrow facets of the rim may be turned."""
    wall = closed_wall(torus_surface(), 0.0, 3.0)
    even = delaunay_flips(wall.mesh)
    faces = 2 * len(wall.triangles)
    assert (even.triangles[:faces] != wall.mesh.triangles[:faces]).any(axis=1).mean() < 0.002
    assert_allclose(even.volume, wall.mesh.volume, rtol=1e-7)
