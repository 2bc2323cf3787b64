# SPDX-License-Identifier: GPL-3.0-or-later
"""The skin: its halves, normals and triangles."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from addon.core.skin.cage import Cage, topology_of_faces
from addon.core.skin.skin import full_skin, skin, triangles
from addon.core.skin.skin_stencil import skin_stencil
from tests.random_cages import grid_faces, grid_points, random_cage


def skin_of(cage, level=3):
    return skin(cage, skin_stencil(cage.topology, level))


def area_vectors(of, faces):
    a, b, c = (of.points[faces[:, k]] for k in range(3))
    return np.cross(b - a, c - a) / 2.0


def test_full_skin_is_its_own_image():
    for seed in range(30):
        cage = random_cage(seed)
        if not cage.topology.mirrored:
            continue
        half = skin_of(cage)
        full = full_skin(half)
        assert not full.half
        assert len(full.points) == 2 * len(half.points) - half.on_plane.sum()
        flipped = full.points * [-1.0, 1.0, 1.0]
        order, image = (np.lexsort(np.round(p, 9).T) for p in (full.points, flipped))
        assert_allclose(full.points[order], flipped[image], atol=1e-12)
        assert_allclose(full.points[full.half_point] * [1, 1, 1], half.points[full.half_point], atol=1e-12)
        assert len(full.quads) == 2 * len(half.quads)
        faces = full.quads
        edges = {tuple(e) for e in np.stack([faces, np.roll(faces, -1, axis=1)], axis=-1).reshape(-1, 2).tolist()}
        assert len(edges) == 4 * len(faces)
        assert {(a, b) for a, b in edges if (b, a) not in edges} == {tuple(e) for e in full.boundary_edges.tolist()}
        return_trip = full_skin(full)
        assert return_trip is full


@pytest.mark.parametrize("crease", [0.0, 1.0])
def test_normals_on_the_mirror_plane_lie_in_it(crease):
    # With a ridge along the plane the normal of the whole is the mean of both sides.
    creases = {(0, 3): crease, (3, 6): crease, (6, 9): crease}
    topology = topology_of_faces(12, grid_faces(4, 3), creases=creases, on_plane=[k % 3 == 0 for k in range(12)])
    points = grid_points(4, 3, np.random.default_rng(2))
    full = full_skin(skin_of(Cage(topology, points)))
    assert_array_equal(full.normals[full.on_plane, 0], 0.0)
    assert_array_equal(full.points[full.on_plane, 0], 0.0)
    assert_allclose(np.linalg.norm(full.normals, axis=1), 1.0, atol=1e-12)


def test_triangles_cover_the_quads_along_the_shorter_diagonal():
    cage = random_cage(4)
    of = skin_of(cage)
    cut = triangles(of)
    assert cut.shape == (2 * len(of.quads), 3)
    for number, quad in enumerate(of.quads.tolist()):
        pair = cut[2 * number : 2 * number + 2]
        assert set(pair.ravel().tolist()) == set(quad)
        diagonal = set(pair[0].tolist()) & set(pair[1].tolist())
        lengths = {
            frozenset((quad[k], quad[k + 2])): np.linalg.norm(of.points[quad[k]] - of.points[quad[k + 2]]) for k in range(2)
        }
        assert lengths[frozenset(diagonal)] == min(lengths.values())
    a, b, c, d = (of.points[of.quads[:, k]] for k in range(4))
    assert_allclose(area_vectors(of, cut).reshape(-1, 2, 3).sum(axis=1), np.cross(c - a, d - b) / 2.0, atol=1e-12)


def test_normals_are_there_where_the_tangents_are_not():
    # Two corners of a face at one place: the parametrization is singular, the surface is not.
    topology = topology_of_faces(16, grid_faces(4, 4))
    points = grid_points(4, 4, np.random.default_rng(1), 0.0)
    points[1] = points[0]
    points[4] = points[0]
    of = skin_of(Cage(topology, points))
    assert np.isfinite(of.normals).all()
    length = np.linalg.norm(of.normals, axis=1)
    assert_allclose(length, 1.0, atol=1e-9)
    assert_allclose(of.normals, [[0.0, 0.0, 1.0]] * len(length), atol=1e-9)


def test_collapsed_cage_has_zero_normals_and_no_nan():
    topology = topology_of_faces(4, [[0, 1, 2, 3]])
    of = skin_of(Cage(topology, np.zeros((4, 3))))
    assert_array_equal(of.normals, 0.0)


def test_stencil_of_another_topology_is_refused():
    cage = random_cage(1)
    with pytest.raises(ValueError, match="another topology"):
        skin(cage, skin_stencil(random_cage(2).topology, 1))


def test_point_that_is_not_finite_is_refused():
    topology = topology_of_faces(4, [[0, 1, 2, 3]])
    points = np.zeros((4, 3))
    points[2, 1] = np.nan
    with pytest.raises(ValueError, match="not finite"):
        skin(Cage(topology, points), skin_stencil(topology, 1))
