# SPDX-License-Identifier: GPL-3.0-or-later
"""Surfaces of fewer triangles: same topology, same area, same rim."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.stiffness.coarsen import DenseSurface, coarsened


def arch_with_hole() -> DenseSurface:
    """A quarter of a tube, radius 50, length 120, with a hole of a few facets."""
    u, v = np.meshgrid(np.linspace(0.0, 1.0, 91), np.linspace(0.0, 0.5 * np.pi, 61), indexing="ij")
    points = np.stack([50.0 * np.sin(v), 120.0 * u, 50.0 * np.cos(v)], axis=-1).reshape(-1, 3)
    normals = points * [1.0, 0.0, 1.0] / 50.0
    corner = (np.arange(90)[:, None] * 61 + np.arange(60)).ravel()
    quads = np.stack([corner, corner + 61, corner + 62, corner + 1], axis=1)
    hole = np.linalg.norm(points[quads].mean(axis=1) - [50.0 * np.sin(0.7), 50.0, 50.0 * np.cos(0.7)], axis=1) < 10.0
    triangles = np.concatenate([quads[~hole][:, [0, 2, 1]], quads[~hole][:, [0, 3, 2]]])
    assert (TriangleMesh(points, triangles).area_vectors[0] @ normals[0]) > 0.0
    return DenseSurface(points, normals, points, triangles, np.zeros(len(points), bool))


def euler(triangles: np.ndarray) -> int:
    sides = np.sort(np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    _, often = np.unique(sides, axis=0, return_counts=True)
    assert often.max() == 2
    return len(np.unique(triangles)) - len(often) + len(triangles)


@pytest.mark.parametrize("most", [200, 1000, 3000])
def test_topology_and_area_stay(most: int) -> None:
    surface = arch_with_hole()
    triangles = coarsened(surface, most)
    assert 0.8 * most <= len(triangles) <= most
    assert euler(triangles) == euler(surface.triangles) == 0  # a band: one hole
    one, fine = TriangleMesh(surface.points, triangles), TriangleMesh(surface.points, surface.triangles)
    assert_allclose(one.area, fine.area, rtol=0.01 if most >= 1000 else 0.03)
    normals = surface.normals[triangles].mean(axis=1)
    assert (np.einsum("ij,ij->i", one.area_vectors, normals) > 0.0).all()
    a, b, c = np.moveaxis(one.corners, 1, 0)
    squares = sum(np.square(way).sum(axis=1) for way in (b - a, c - b, a - c))
    fat = 4.0 * np.sqrt(3.0) * np.linalg.norm(one.area_vectors, axis=1) / squares
    assert np.percentile(fat, 1) > 0.25 and np.median(fat) > 0.75


def test_pinned_points_stay_and_steps_are_finer() -> None:
    surface = arch_with_hole()
    pinned = np.zeros(len(surface.points), bool)
    pinned[::97] = True
    pinned[~np.isin(np.arange(len(pinned)), surface.triangles)] = False
    lifted = surface.points + np.outer(np.maximum(surface.points[:, 1] - 80.0, 0.0), [0.0, 4.0, 0.0])
    triangles = coarsened(DenseSurface(surface.points, surface.normals, lifted, surface.triangles, pinned), 600)
    assert np.isin(np.flatnonzero(pinned), triangles).all()
    areas = np.linalg.norm(TriangleMesh(surface.points, triangles).area_vectors, axis=1)
    fine = surface.points[triangles].mean(axis=1)[:, 1] > 85.0
    assert np.median(areas[fine]) < 0.4 * np.median(areas[~fine])


def test_nothing_to_do_and_nothing_possible() -> None:
    surface = arch_with_hole()
    assert coarsened(surface, len(surface.triangles)) is surface.triangles
    least = coarsened(surface, 1)
    assert euler(least) == 0
    with pytest.raises(ValueError, match="most: 0"):
        coarsened(surface, 0)
