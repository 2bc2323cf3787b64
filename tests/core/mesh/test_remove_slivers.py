# SPDX-License-Identifier: GPL-3.0-or-later
"""Needles along edges are turned into their neighbors; libigl with CGAL is the witness of what is left."""

import numpy as np
from numpy.testing import assert_allclose

from addon.core.mesh.prism import box
from addon.core.mesh.remove_slivers import remove_slivers
from addon.core.mesh.triangle_mesh import TriangleMesh
from tests.crossing_pairs import crossing_pairs


def heights(mesh: TriangleMesh) -> np.ndarray:
    corners = mesh.corners
    longest = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2).max(axis=1)
    return 2.0 * np.linalg.norm(mesh.area_vectors, axis=1) / longest


def frayed(rng: np.random.Generator, off: float, count: int) -> TriangleMesh:
    """A box, 300 mm out as a fender is, with points strewn along an edge, off it by rounding, in needles on one of its faces."""
    cube = box(np.array([0.0, 0.0, 300.0]), np.eye(3), np.zeros(3), np.full(3, 10.0))
    a, b, c = cube.triangles[0].tolist()
    share = np.sort(rng.uniform(0.02, 0.98, count))
    start, end = cube.vertices[a], cube.vertices[b]
    points = start + share[:, None] * (end - start) + rng.uniform(-off, off, (count, 3))
    number = [a, *(len(cube.vertices) + np.arange(count)).tolist(), b]
    needles = [[number[i], number[i + 1], b] for i in range(count)]
    # the face beyond is a fan on the points, and the needles close what is between them and the old edge
    fan = [[number[i + 1], number[i], c][::-1] for i in range(count + 1)]
    triangles = np.concatenate([cube.triangles[1:], fan, np.array(needles)[:, ::-1]])
    return TriangleMesh(np.concatenate([cube.vertices, points]).astype(np.float32).astype(np.float64), triangles)


def test_needles_go_and_with_them_what_crosses() -> None:
    rng = np.random.default_rng(31)
    crossed = 0
    for count in (1, 2, 5, 12, 30):
        for _ in range(4):
            mesh = frayed(rng, 2e-5, count)
            assert mesh.is_closed and (heights(mesh) < 1e-4).any()
            crossed += len(crossing_pairs(mesh)) > 0
            clean = remove_slivers(mesh)
            assert clean.is_closed
            assert (clean.vertices == mesh.vertices).all() and len(clean.triangles) == len(mesh.triangles)
            assert (heights(clean) > 1e-3).all()
            assert crossing_pairs(clean).shape == (0, 2)
            assert_allclose(clean.volume, mesh.volume, rtol=1e-5)
    assert crossed > 10  # else the shapes prove nothing


def test_a_mesh_without_needles_stays_as_it_is() -> None:
    cube = box(np.zeros(3), np.eye(3), np.zeros(3), np.full(3, 10.0))
    assert remove_slivers(cube) is cube


def test_what_would_open_the_mesh_or_turn_it_over_stays() -> None:
    """A flat tetrahedron is all needles, and every other side is there already."""
    flat = np.array([[0.0, 0.0, 0.0], [4.0, 0.0, 0.0], [2.0, 5e-5, 0.0], [2.0, 0.0, 5e-5]])
    mesh = TriangleMesh(flat, np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]]))
    assert mesh.is_closed
    assert remove_slivers(mesh) is mesh


def test_a_point_beside_an_edge_that_only_three_triangles_meet_in_is_taken_out() -> None:
    """A point 1e-5 mm off an edge of a face, joined to its three corners: turning sides cannot free it of the needle."""
    cube = box(np.array([0.0, 0.0, 300.0]), np.eye(3), np.zeros(3), np.full(3, 10.0))
    corners = cube.vertices[cube.triangles[0]]
    for share in (0.02, 0.5, 0.999):
        for first in range(3):
            a, b, c = np.roll(np.arange(3), -first)
            inward = corners[c] - corners[a]
            point = corners[a] + share * (corners[b] - corners[a]) + 1e-5 * inward / np.linalg.norm(inward)
            one, two, three = cube.triangles[0].tolist()
            fan = [[one, two, 8], [two, three, 8], [three, one, 8]]
            mesh = TriangleMesh(np.concatenate([cube.vertices, [point]]), np.concatenate([fan, cube.triangles[1:]]))
            assert mesh.is_closed and (heights(mesh) < 1e-4).any()
            clean = remove_slivers(mesh)
            assert clean.is_closed and (heights(clean) > 1e-3).all() and crossing_pairs(clean).shape == (0, 2)
            assert_allclose(clean.volume, 1000.0, rtol=1e-5)


def test_a_needle_that_lies_over_its_neighbor_is_drawn_together() -> None:
    """Five points of a lap's edge as one cut left them in float32, closed by a cone: the needle is turned over by 1e-5 mm."""
    points = np.array(
        [
            [-18.392148971557617, 279.0079345703125, 194.5299835205078],
            [-18.390880584716797, 279.0080261230469, 194.53004455566406],
            [-17.412296295166016, 279.07037353515625, 194.5725860595703],
            [-16.241294860839844, 279.175048828125, 194.6438751220703],
            [-18.391130447387695, 278.29876708984375, 195.5748748779297],
            [-17.0, 275.0, 190.0],
        ]
    )
    triangles = np.array([[2, 1, 0], [0, 3, 2], [1, 4, 0], [4, 1, 2], [3, 0, 5], [2, 3, 5], [4, 2, 5], [0, 4, 5]])
    mesh = TriangleMesh(points, triangles)
    assert mesh.is_closed and len(crossing_pairs(mesh))
    clean = remove_slivers(mesh)
    assert clean.is_closed and (heights(clean) > 1e-3).all() and crossing_pairs(clean).shape == (0, 2)
    assert_allclose(clean.volume, mesh.volume, rtol=2e-3)
