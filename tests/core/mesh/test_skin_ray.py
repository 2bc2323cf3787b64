# SPDX-License-Identifier: GPL-3.0-or-later
"""Rays against a skin: a known plate, and trimesh on a bent one."""

import numpy as np
import pytest
import trimesh

from addon.core.mesh.skin_ray import longest_diagonal, skin_ray
from addon.core.wall.skin_measures import wall_volume, widest
from tests.core.views.test_section_view import GAP, RING, TUBE, torus_fender


def test_ray_on_a_plate() -> None:
    points = np.array([[0.0, 0.0, 5.0], [10.0, 0.0, 5.0], [10.0, 20.0, 5.0], [0.0, 20.0, 5.0]])
    quads = np.array([[0, 1, 2, 3]])
    reach = longest_diagonal(points, quads)
    assert reach == pytest.approx(np.hypot(10.0, 20.0))
    hit = skin_ray(np.array([8.0, 4.0, 12.0]), np.array([0.0, 0.0, -1.0]), points, quads, reach)
    assert hit is not None and hit.along == pytest.approx(7.0)
    np.testing.assert_allclose(hit.point, [8.0, 4.0, 5.0])
    np.testing.assert_allclose(hit.weights @ points[hit.corners], hit.point)
    assert hit.weights.min() >= 0.0 and hit.weights.sum() == pytest.approx(1.0)
    below = skin_ray(np.array([8.0, 4.0, -1.0]), np.array([0.0, 0.0, 1.0]), points, quads, reach)
    assert below is not None and below.along == pytest.approx(6.0)
    assert skin_ray(np.array([8.0, 4.0, 12.0]), np.array([0.0, 0.0, 1.0]), points, quads, reach) is None
    assert skin_ray(np.array([11.0, 4.0, 12.0]), np.array([0.0, 0.0, -1.0]), points, quads, reach) is None
    assert skin_ray(np.array([0.0, 4.0, 5.0]), np.array([1.0, 0.0, 0.0]), points, quads, reach) is None  # along the plate


def test_triangles_without_area_are_never_met() -> None:
    """In whatever pose: rounding gives about half of these a volume that is not quite zero."""
    rng = np.random.default_rng(12)
    corners = rng.normal(size=(400, 2, 3)) * 300.0
    share = rng.uniform(0.0, 1.0, (400, 1))
    between = corners[:, 0] + share * (corners[:, 1] - corners[:, 0])
    points = np.stack([corners[:, 0], corners[:, 1], between], axis=1).reshape(-1, 3)
    origin = np.zeros(3)
    for i in range(400):
        line, twin = np.array([[3 * i, 3 * i + 1, 3 * i + 2]]), np.array([[3 * i, 3 * i + 1, 3 * i + 1]])
        aim = points[3 * i + 2] / np.linalg.norm(points[3 * i + 2])
        for faces in (line, twin, np.array([[3 * i, 3 * i + 1, 3 * i + 2, 3 * i + 2]])):
            assert skin_ray(origin, aim, points, faces, longest_diagonal(points, faces)) is None


def test_a_quad_is_met_where_its_triangles_are() -> None:
    points, quads, _ = torus_fender(mirrored=False)
    triangles = quads[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)
    for station in np.radians([-60.0, -11.3, 0.0, 24.5]):
        aim = np.array([0.0, -np.sin(station), np.cos(station)])
        one = skin_ray(np.zeros(3), aim, points, quads, longest_diagonal(points, quads))
        other = skin_ray(np.zeros(3), aim, points, triangles, longest_diagonal(points, triangles))
        assert one is not None and other is not None
        np.testing.assert_allclose(one.point, other.point, rtol=0, atol=1e-9)


def test_random_rays_agree_with_trimesh() -> None:
    points, quads, _ = torus_fender(mirrored=False)
    reach = longest_diagonal(points, quads)
    mesh = trimesh.Trimesh(points, quads[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3), process=False)
    rng = np.random.default_rng(4)
    origins = rng.normal(size=(60, 3)) * 700.0
    aims = points[rng.integers(len(points), size=60)] + rng.normal(size=(60, 3)) * 60.0
    directions = (aims - origins) / np.linalg.norm(aims - origins, axis=1, keepdims=True)
    places, rays, _ = mesh.ray.intersects_location(origins, directions)
    hits = 0
    for i in range(60):
        found = skin_ray(origins[i], directions[i], points, quads, reach)
        theirs = np.linalg.norm(places[rays == i] - origins[i], axis=1)
        assert (found is None) == (len(theirs) == 0)
        if found is not None:
            hits += 1
            assert found.along == pytest.approx(theirs.min(), abs=1e-6)
    assert 15 < hits < 60


def test_area_and_width_of_a_torus_part() -> None:
    """Area over tube angles a: stations x tube x integral of (ring + tube cos a) da."""
    points, quads, _ = torus_fender(mirrored=False)
    half, tube = np.radians(70.0), TUBE + GAP
    exact = np.radians(120.0) * tube * (RING * 2 * half + tube * 2 * np.sin(half))
    # chords of 1 degree across and along: 1 - 3 * (pi / 180)^2 / 24 at the worst
    assert wall_volume(points, quads, (0.5, 2.5)) == pytest.approx(3.0 * exact, rel=1e-4)
    assert widest(points) == pytest.approx(2 * tube * np.sin(half))
