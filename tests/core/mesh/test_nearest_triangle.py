# SPDX-License-Identifier: GPL-3.0-or-later
"""The nearest of many triangles against libigl, and against all triangles one by one."""

import igl
import numpy as np
import pytest
import trimesh

from addon.core.mesh.nearest_triangle import NearestTriangle, nearest_on_triangles
from addon.core.mesh.triangle_mesh import TriangleMesh


def _bumpy() -> TriangleMesh:
    ball = trimesh.creation.icosphere(subdivisions=4, radius=200.0)
    return TriangleMesh(ball.vertices * (1.0 + 0.1 * np.sin(ball.vertices / 20.0).prod(axis=1))[:, None], ball.faces)


def test_distances_and_places_are_those_of_libigl() -> None:
    mesh, random = _bumpy(), np.random.default_rng(4)
    points = np.concatenate(
        [random.normal(scale=150.0, size=(1500, 3)), mesh.vertices[::7] + random.normal(size=(366, 3)), np.zeros((1, 3))]
    )
    distance, triangle, place = NearestTriangle(mesh).find(points)
    squared, _, _ = igl.point_mesh_squared_distance(points, np.array(mesh.vertices), np.array(mesh.triangles))
    np.testing.assert_allclose(distance, np.sqrt(squared), atol=1e-9)
    np.testing.assert_allclose(np.linalg.norm(points - place, axis=1), distance, atol=1e-12)
    np.testing.assert_allclose(nearest_on_triangles(points, mesh.corners[triangle]), place, atol=1e-9)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 8, 9, 100])
def test_any_number_of_loose_triangles_against_each_one_of_them(count: int) -> None:
    random = np.random.default_rng(count)
    mesh = TriangleMesh(random.normal(scale=30.0, size=(3 * count, 3)), np.arange(3 * count).reshape(-1, 3))
    points = random.normal(scale=40.0, size=(200, 3))
    distance, _, _ = NearestTriangle(mesh).find(points)
    each = [
        np.linalg.norm(points - nearest_on_triangles(points, np.repeat(one[None], 200, axis=0)), axis=1) for one in mesh.corners
    ]
    np.testing.assert_allclose(distance, np.min(each, axis=0), atol=1e-9)


def test_nearest_on_a_triangle_is_that_of_trimesh() -> None:
    random = np.random.default_rng(1)
    corners, points = random.normal(size=(4000, 3, 3)), 2.0 * random.normal(size=(4000, 3))
    np.testing.assert_allclose(nearest_on_triangles(points, corners), trimesh.triangles.closest_point(corners, points), atol=1e-9)


def test_what_is_farther_than_asked_is_not_told() -> None:
    mesh = _bumpy()
    points = np.array([[0.0, 0.0, 260.0], [0.0, 0.0, 1000.0]])
    distance, triangle, place = NearestTriangle(mesh).find(points, 100.0)
    exact, which, _ = NearestTriangle(mesh).find(points)
    assert distance[0] == exact[0] and triangle[0] == which[0]
    assert distance[1] == np.inf and triangle[1] == -1 and np.isnan(place[1]).all()


def test_no_points_and_no_triangles() -> None:
    distance, triangle, place = NearestTriangle(_bumpy()).find(np.zeros((0, 3)))
    assert len(distance) == len(triangle) == 0 and place.shape == (0, 3)
    with pytest.raises(ValueError, match="no triangles"):
        NearestTriangle(TriangleMesh(np.zeros((0, 3)), np.zeros((0, 3), int)))
