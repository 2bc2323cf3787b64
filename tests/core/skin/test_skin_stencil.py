# SPDX-License-Identifier: GPL-3.0-or-later
"""Stencils against published values, B-splines (scipy), a plain subdivision, and what must hold for any surface."""

from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy.interpolate import BSpline

from addon.core.skin.cage import Cage, topology_of_faces
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import StencilCache, skin_stencil
from addon.core.skin.stencil_rows import StencilRows
from addon.core.skin.subdivision.face_blocks import FaceBlocks
from tests.random_cages import grid_faces, grid_points, random_cage

CUBE = np.array([[x, y, z] for x in (-1.0, 1.0) for y in (-1.0, 1.0) for z in (-1.0, 1.0)])
CUBE_FACES = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
# One point with three faces, one with five, triangles, a pentagon: no two corners alike.
HOUSE = np.array(
    [[0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0], [0, 0, 2], [2, 0, 2], [2, 2, 2], [0, 2, 2.5], [1, 0, 3], [1, 2, 3.5]], float
)
HOUSE_FACES = [[3, 2, 1, 0], [0, 1, 5, 8, 4], [2, 3, 7, 9, 6], [1, 2, 6, 5], [3, 0, 4, 7], [5, 6, 9, 8], [8, 9, 7], [8, 7, 4]]


def normals_of(stencil, points):
    across = np.cross(stencil.tangent_u.apply(points), stencil.tangent_v.apply(points))
    return across / np.linalg.norm(across, axis=1)[:, None]


@pytest.mark.parametrize("level", [1, 2, 3, 4, 5])
def test_cube_has_the_published_values(level):
    # Unit half-size cube: corner at 0.866025, face center at 0.839506; by the limit mask of Halstead, Kass and DeRose 1993,
    # (9 v + 4 sum e + sum f) / 24 with v = (1, 1, 1), and 68/81.
    stencil = skin_stencil(topology_of_faces(8, CUBE_FACES), level)
    points = stencil.position.apply(CUBE)
    corner = points[stencil.corner_point[7]]
    assert_allclose(np.linalg.norm(corner), 0.866025, atol=1e-6)
    assert_allclose(corner, [0.5, 0.5, 0.5], atol=1e-12)
    assert_allclose(np.abs(points).max(), 68.0 / 81.0, atol=1e-12)
    assert_allclose(68.0 / 81.0, 0.839506, atol=1e-6)
    assert stencil.position.row_count == 6 * 4**level + 2


@pytest.mark.parametrize("level", [1, 2, 4])
def test_grid_is_the_bicubic_b_spline_surface(level):
    rows, columns = 5, 6
    points = grid_points(rows, columns, np.random.default_rng(7))
    stencil = skin_stencil(topology_of_faces(len(points), grid_faces(rows, columns), keep_corners=True), level)
    # A boundary of a Catmull-Clark surface is that of a B-spline with points beyond it on a straight line: 2 p0 - p1.
    net = points.reshape(rows, columns, 3)
    net = np.concatenate([2 * net[:1] - net[1:2], net, 2 * net[-1:] - net[-2:-1]])
    net = np.concatenate([2 * net[:, :1] - net[:, 1:2], net, 2 * net[:, -1:] - net[:, -2:-1]], axis=1)
    ours = stencil.position.apply(points)
    where = stencil.position.apply(np.array([[j, i, 0.0] for i in range(rows) for j in range(columns)]))

    def spline(u_order, v_order):
        along = BSpline(np.arange(-3.0, columns + 3.0), net.transpose(1, 0, 2), 3, axis=0)
        values = along.derivative(u_order)(where[:, 0]) if u_order else along(where[:, 0])
        result = []
        for value, v in zip(values, where[:, 1], strict=True):
            across = BSpline(np.arange(-3.0, rows + 3.0), value, 3)
            result.append(across.derivative(v_order)(v) if v_order else across(v))
        return np.array(result)

    assert_allclose(ours, spline(0, 0), atol=1e-12)
    normal = np.cross(spline(1, 0), spline(0, 1))
    assert_allclose(normals_of(stencil, points), normal / np.linalg.norm(normal, axis=1)[:, None], atol=1e-10)


def subdivided(points, faces):
    """One plain Catmull-Clark step of a closed mesh, point by point, from the rules of 1978."""
    face_point = [points[face].mean(axis=0) for face in faces]
    faces_at, edges = {}, {}
    for number, face in enumerate(faces):
        for k, point in enumerate(face):
            faces_at.setdefault(point, []).append(number)
            edges.setdefault(frozenset((point, face[(k + 1) % len(face)])), []).append(number)
    middle = {edge: points[list(edge)].mean(axis=0) for edge in edges}
    edge_point = [(2 * middle[edge] + sum(face_point[f] for f in beside)) / 4 for edge, beside in edges.items()]
    middles_at = {}
    for edge in edges:
        for point in edge:
            middles_at.setdefault(point, []).append(middle[edge])
    moved = []
    for point, beside in sorted(faces_at.items()):
        n = len(beside)
        faces_mean, edges_mean = np.mean([face_point[f] for f in beside], axis=0), np.mean(middles_at[point], axis=0)
        moved.append((faces_mean + 2 * edges_mean + (n - 3) * points[point]) / n)
    number_of = {edge: len(points) + k for k, edge in enumerate(edges)}
    first_face = len(points) + len(edges)
    children = [
        [
            point,
            number_of[frozenset((point, face[(k + 1) % len(face)]))],
            first_face + f,
            number_of[frozenset((point, face[k - 1]))],
        ]
        for f, face in enumerate(faces)
        for k, point in enumerate(face)
    ]
    return np.array(moved + edge_point + face_point), children


def test_plain_subdivision_converges_to_the_limit_points():
    stencil = skin_stencil(topology_of_faces(len(HOUSE), HOUSE_FACES), 1)
    limit = stencil.position.apply(HOUSE)[stencil.corner_point]
    points, faces, misses = HOUSE, HOUSE_FACES, []
    for _ in range(5):
        points, faces = subdivided(points, faces)
        misses.append(np.linalg.norm(points[: len(HOUSE)] - limit, axis=1).max())
    # The miss falls by the third eigenvalue of the subdivision matrix, about 1/4 to 0.4 a step.
    assert misses[-1] < 2e-3
    assert all(later < 0.45 * earlier for earlier, later in pairwise(misses[1:]))


@pytest.mark.parametrize("corner_sharpness", [0.0, 1.0])
def test_normals_at_poles_creases_and_boundaries_are_those_of_ever_finer_facets(corner_sharpness):
    faces = grid_faces(4, 4)
    faces[3] = [4, 5, 10, 9, 8]  # a pentagon beside a triangle
    faces[4] = [5, 6, 10]
    del faces[0]  # an inner corner on the boundary
    points = grid_points(4, 4, np.random.default_rng(3), 0.15)
    creases = {(6, 10): corner_sharpness, (10, 14): corner_sharpness} if corner_sharpness else {}
    topology = topology_of_faces(16, faces, creases=creases)
    coarse = skin_stencil(topology, 1)
    fine = skin_stencil(topology, 6)
    normal = normals_of(coarse, points)[coarse.corner_point[1:]]
    place = fine.position.apply(points)
    where = fine.corner_point[1:]
    facet = np.cross(place[fine.quads[:, 2]] - place[fine.quads[:, 0]], place[fine.quads[:, 3]] - place[fine.quads[:, 1]])
    facet /= np.linalg.norm(facet, axis=1)[:, None]
    for number, point in enumerate(where):
        beside = facet[(fine.quads == point).any(axis=1)]
        angles = np.degrees(np.arccos(np.clip(beside @ normal[number], -1.0, 1.0)))
        # On a crease the normal is that of one side. Facets are 1/64 of a face wide and turn by about a degree.
        assert angles.min() < 2.0, (number + 1, angles)


def test_every_surface_moves_with_its_cage():
    rng = np.random.default_rng(11)
    for seed in range(12):
        cage = random_cage(seed)
        stencil = skin_stencil(cage.topology, 2)
        rows = stencil.position
        ones = np.add.reduceat(rows.weight, rows.starts[:-1])
        assert_allclose(ones, 1.0, atol=1e-12)
        for tangent in (stencil.tangent_u, stencil.tangent_v):
            assert_allclose(np.add.reduceat(tangent.weight, tangent.starts[:-1]), 0.0, atol=1e-11)
        shift = np.array([0.0, *rng.normal(size=2)])
        assert_allclose(rows.apply(cage.points + shift), rows.apply(cage.points) + shift, atol=1e-12)


def test_each_row_names_a_cage_point_once_and_blocks_are_what_they_say():
    for seed in range(8):
        cage = random_cage(seed)
        rows = skin_stencil(cage.topology, 2).position
        for row in range(rows.row_count):
            index = rows.index[rows.starts[row] : rows.starts[row + 1]]
            assert len(index) == len(set(index.tolist())) > 0
        plain = StencilRows(rows.starts, rows.index, rows.weight, rows.x_weight)
        assert_allclose(rows.apply(cage.points), plain.apply(cage.points), atol=1e-13)


def test_half_a_cage_gives_half_of_the_whole_skin():
    rows, columns = 4, 4
    half = grid_points(rows, columns, np.random.default_rng(5))
    on_plane = np.arange(rows * columns) % columns == 0
    half[on_plane, 0] = 0.0
    whole_points = half[~on_plane] * [-1.0, 1.0, 1.0]
    image = np.arange(len(half))
    image[~on_plane] = len(half) + np.arange(len(whole_points))
    faces = grid_faces(rows, columns)
    faces[2] = [2, 3, 7]
    faces.append([2, 7, 6])
    whole_faces = faces + [[int(image[point]) for point in reversed(face)] for face in faces]
    creases = {(4, 8): 0.7, (5, 6): 0.4}
    whole_creases = creases | {(int(image[5]), int(image[6])): 0.4}
    for level in (1, 3, 4):
        topology = topology_of_faces(len(half), faces, creases=creases, on_plane=on_plane)
        ours = full_skin(skin(Cage(topology, half), skin_stencil(topology, level)))
        whole = topology_of_faces(len(half) + len(whole_points), whole_faces, creases=whole_creases)
        other = skin(Cage(whole, np.concatenate([half, whole_points])), skin_stencil(whole, level))
        assert len(ours.points) == len(other.points)
        assert len(ours.boundary_edges) == len(other.boundary_edges)
        ours_order, other_order = (np.lexsort(np.round(s.points, 9).T) for s in (ours, other))
        assert_allclose(ours.points[ours_order], other.points[other_order], atol=1e-12)
        assert_allclose(ours.normals[ours_order], other.normals[other_order], atol=1e-9)


def test_merged_points_are_taken_at_the_mirror_plane():
    topology = topology_of_faces(4, [[0, 1, 2, 3]], on_plane=[True, False, False, True])
    square = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    off = square + [[3e-4, 0, 0], [0, 0, 0], [0, 0, 0], [-2e-4, 0, 0]]
    rows = skin_stencil(topology, 3).position
    assert_array_equal(rows.apply(off), rows.apply(square))


def test_quads_and_boundary_fit_together():
    for seed in range(20):
        cage = random_cage(seed)
        stencil = skin_stencil(cage.topology, 2)
        quads = stencil.quads
        edges = np.stack([quads, np.roll(quads, -1, axis=1)], axis=-1).reshape(-1, 2)
        directed = {tuple(edge) for edge in edges.tolist()}
        assert len(directed) == len(edges)
        open_edges = {(a, b) for a, b in directed if (b, a) not in directed}
        plane = {(a, b) for a, b in open_edges if stencil.on_plane[a] and stencil.on_plane[b]}
        assert open_edges - plane == {tuple(edge) for edge in stencil.boundary_edges.tolist()}
        assert_array_equal(np.unique(quads), np.arange(stencil.position.row_count))
        corners = np.diff(cage.topology.face_starts)
        assert_array_equal(np.bincount(stencil.face_of_quad), 4 * corners)
        assert_allclose(stencil.position.apply(cage.points)[stencil.on_plane, 0], 0.0, atol=1e-12)


def test_normals_look_the_way_the_faces_are_wound():
    stencil = skin_stencil(topology_of_faces(len(HOUSE), HOUSE_FACES), 4)
    points, normals = stencil.position.apply(HOUSE), normals_of(stencil, HOUSE)
    facet = np.cross(
        points[stencil.quads[:, 2]] - points[stencil.quads[:, 0]], points[stencil.quads[:, 3]] - points[stencil.quads[:, 1]]
    )
    assert (np.einsum("ij,ij->i", facet, normals[stencil.quads].mean(axis=1)) > 0.0).all()
    volume = np.einsum("ij,ij->", points[stencil.quads].mean(axis=1), facet) / 6.0
    assert volume > 0.0


def test_blocks_that_were_kept_give_the_same_stencil():
    blocks = FaceBlocks(capacity=30_000)  # about three faces: they are thrown out and made again
    for seed in (1, 2, 1):
        topology = random_cage(seed).topology
        kept, fresh = skin_stencil(topology, 3, blocks), skin_stencil(topology, 3, FaceBlocks())
        assert_array_equal(kept.position.index, fresh.position.index)
        assert_allclose(kept.position.weight, fresh.position.weight, atol=1e-14)


def test_cache_returns_the_same_stencil_until_it_is_full():
    cache = StencilCache(capacity=2)
    first = topology_of_faces(8, CUBE_FACES)
    stencil = cache.get(first, 2)
    assert cache.get(topology_of_faces(8, CUBE_FACES), 2) is stencil
    assert cache.get(first, 3) is not stencil
    cache.get(topology_of_faces(len(HOUSE), HOUSE_FACES), 1)
    assert cache.get(first, 2) is not stencil


@pytest.mark.parametrize("level", [0, 7])
def test_level_out_of_range_is_refused(level):
    with pytest.raises(ValueError, match=f"level: {level}, allowed 1 to 6"):
        skin_stencil(topology_of_faces(8, CUBE_FACES), level)
