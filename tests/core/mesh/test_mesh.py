# SPDX-License-Identifier: GPL-3.0-or-later
"""The mesh value, its cutters and its cleaning."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.mesh.collapse_short_edges import coincident_points, collapse_short_edges
from addon.core.mesh.prism import box, prism
from addon.core.mesh.triangle_mesh import TriangleMesh, connected_components, joined, outward
from tests.core.torus_surface import as_manifold, as_trimesh, grid_quads


def cube(size: float = 2.0, at: float = 0.0) -> TriangleMesh:
    return box(np.full(3, at), np.eye(3), np.zeros(3), np.full(3, size))


def ring(around: int = 40, across: int = 16) -> TriangleMesh:
    """A torus of radii 30 and 10 mm."""
    u, v = np.meshgrid(2 * np.pi * np.arange(around) / around, 2 * np.pi * np.arange(across) / across, indexing="ij")
    rho = 30.0 + 10.0 * np.cos(v)
    points = np.stack([rho * np.cos(u), rho * np.sin(u), 10.0 * np.sin(v)], axis=-1).reshape(-1, 3)
    quads = grid_quads(around + 1, across + 1)
    row, column = np.divmod(quads, across + 1)
    quads = row % around * across + column % across
    return outward(TriangleMesh(points, np.concatenate([quads[:, :3], quads[:, [0, 2, 3]]])))


def test_cube_by_hand() -> None:
    mesh = cube()
    assert_allclose([mesh.volume, mesh.area], [8.0, 24.0], rtol=1e-12)
    assert mesh.is_closed and mesh.part_count == 1 and mesh.genus == 0
    assert_allclose(mesh.bounds, [[0, 0, 0], [2, 2, 2]])
    assert_allclose(mesh.shortest_edge, 2.0)


def test_volume_does_not_depend_on_the_place() -> None:
    """Wheel axes put the part 400 mm from the origin; 1e5 mm away the volume must keep 9 digits."""
    assert_allclose(cube(at=1e5).volume, 8.0, rtol=1e-9)


def test_ring_has_one_hole_and_agrees_with_manifold3d() -> None:
    mesh = ring()
    outside = as_manifold(mesh)
    assert mesh.is_closed and mesh.genus == 1 == outside.genus()
    assert_allclose([mesh.volume, mesh.area], [outside.volume(), outside.surface_area()], rtol=1e-12)
    both = joined([mesh, cube(at=100.0)])
    assert both.part_count == 2 and both.genus == 1 and both.is_closed


def test_what_is_not_closed() -> None:
    mesh = cube()
    assert not TriangleMesh(mesh.vertices, mesh.triangles[1:]).is_closed
    flipped = np.array(mesh.triangles)
    flipped[3] = flipped[3, ::-1]
    assert not TriangleMesh(mesh.vertices, flipped).is_closed
    doubled = np.concatenate([mesh.triangles, mesh.triangles])
    assert not TriangleMesh(mesh.vertices, doubled).is_closed
    assert not TriangleMesh(mesh.vertices, np.zeros((0, 3), np.int64)).is_closed
    point = np.array(mesh.triangles)
    assert not TriangleMesh(mesh.vertices, np.concatenate([point, [[0, 0, 1]]])).is_closed


def test_connected_components_against_scipy() -> None:
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components as by_scipy

    rng = np.random.default_rng(8)
    for _ in range(20):
        pairs = rng.integers(0, 300, (rng.integers(1, 300), 2))
        labels = connected_components(300, pairs)
        count, theirs = by_scipy(coo_array((np.ones(len(pairs)), pairs.T), shape=(300, 300)), directed=False)
        assert len(np.unique(labels)) == count
        assert len(np.unique(labels * 1000 + theirs)) == count


@pytest.mark.parametrize("sides", [12, 64])
def test_prism_goes_around_its_circle(sides: int) -> None:
    start, end = np.array([10.0, -3.0, 2.0]), np.array([12.0, 4.0, 9.0])
    mesh = prism(start, end, 3.3, sides)
    assert mesh.is_closed and mesh.volume > 0
    length = np.linalg.norm(end - start)
    # area of the polygon around a circle: n r^2 tan(pi / n)
    assert_allclose(mesh.volume, sides * 3.3**2 * np.tan(np.pi / sides) * length, rtol=1e-12)
    axis = (end - start) / length
    side = np.abs(as_trimesh(mesh).face_normals @ axis) < 1e-6
    corners = mesh.corners[side].mean(axis=1) - start
    away = np.einsum("ij,ij->i", corners, as_trimesh(mesh).face_normals[side])
    assert_allclose(away, 3.3, rtol=1e-12)


def test_box_in_turned_axes() -> None:
    rng = np.random.default_rng(5)
    axes = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    mesh = box(np.array([1.0, 2.0, 3.0]), axes, np.array([-1.0, -2.0, -3.0]), np.array([2.0, 3.0, 4.0]))
    assert mesh.is_closed
    assert_allclose(mesh.volume, 3 * 5 * 7, rtol=1e-12)


def test_short_edges_collapse_and_the_body_stays_closed() -> None:
    rng = np.random.default_rng(2)
    mesh = ring()
    vertices, triangles = np.array(mesh.vertices), [list(t) for t in mesh.triangles]
    # split triangles by points 2e-5 mm from one of their corners
    for row in rng.choice(len(triangles), 30, replace=False):
        a, b, c = triangles[row]
        vertices = np.concatenate([vertices, [vertices[a] + 1e-5 * (vertices[b] + vertices[c] - 2 * vertices[a])]])
        new = len(vertices) - 1
        triangles[row] = [new, b, c]
        triangles += [[a, b, new], [a, new, c]]
    rough = TriangleMesh(vertices, np.array(triangles))
    assert rough.is_closed and rough.shortest_edge < 2e-4
    smooth = collapse_short_edges(rough)
    assert smooth.is_closed and smooth.genus == 1
    assert smooth.shortest_edge >= 2e-4
    assert len(smooth.vertices) == len(mesh.vertices)
    assert_allclose(smooth.volume, mesh.volume, rtol=1e-7)


def test_edge_whose_contraction_would_pinch_the_body_stays() -> None:
    """A thin neck: three points in a ring of 1e-5 mm; drawing two together would leave a flap."""
    angle = 2 * np.pi * np.arange(3) / 3
    neck = 1e-5 * np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    vertices = np.concatenate([neck, [[0, 0, 5.0], [0, 0, -5.0]]])
    i = np.arange(3)
    j = np.roll(i, -1)
    mesh = TriangleMesh(vertices, np.concatenate([np.stack([i, j, i * 0 + 3], 1), np.stack([j, i, i * 0 + 4], 1)]))
    assert mesh.is_closed
    assert collapse_short_edges(mesh).is_closed
    assert len(collapse_short_edges(mesh).triangles) == 6


def test_points_that_a_reader_would_weld_are_found() -> None:
    mesh = joined([cube(), cube(at=2.0)])
    found = coincident_points(mesh)
    assert len(found) == 1
    assert_allclose(mesh.vertices[found[0]], [2.0, 2.0, 2.0])
    assert len(coincident_points(cube())) == 0
