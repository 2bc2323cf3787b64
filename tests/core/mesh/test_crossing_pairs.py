# SPDX-License-Identifier: GPL-3.0-or-later
"""The outside witness against self-intersection sees what it is there for."""

import numpy as np

from addon.core.mesh.prism import box
from addon.core.mesh.triangle_mesh import TriangleMesh, joined
from tests.crossing_pairs import crossing_pairs, crossing_places

CUBE = box(np.zeros(3), np.eye(3), np.zeros(3), np.full(3, 10.0))


def moved(x: float, y: float, z: float) -> TriangleMesh:
    return TriangleMesh(CUBE.vertices + [x, y, z], CUBE.triangles)


def test_a_sound_mesh_has_no_pair() -> None:
    assert crossing_pairs(CUBE).shape == (0, 2)
    assert crossing_pairs(joined([CUBE, moved(10.0 + 1e-9, 0.0, 0.0)])).shape == (0, 2)


def test_bodies_that_pass_through_each_other_are_seen() -> None:
    """However little: a billionth of a mm."""
    assert len(crossing_pairs(joined([CUBE, moved(4.0, 4.0, 4.0)])))
    assert len(crossing_pairs(joined([CUBE, moved(10.0 - 1e-9, 1.0, 1.0)])))
    places = crossing_places(joined([CUBE, moved(4.0, 4.0, 4.0)]))
    assert ((places > 0.0) & (places < 14.0)).all()


def test_a_facet_that_is_there_twice_is_seen() -> None:
    double = TriangleMesh(CUBE.vertices, np.concatenate([CUBE.triangles, CUBE.triangles[:1]]))
    assert len(crossing_pairs(double))


def test_a_facet_folded_flat_on_its_neighbor_is_seen() -> None:
    points = np.array([[0.0, 0.0, 0.0], [4.0, 0.0, 0.0], [0.0, 4.0, 0.0], [1.0, 2.0, 0.0]])
    assert len(crossing_pairs(TriangleMesh(points, np.array([[0, 1, 2], [1, 0, 3]]))))


def test_a_point_through_the_facet_beside_it_is_seen() -> None:
    """The dent of a closed cube that is deeper than the cube: the triangles share corners."""
    middle = len(CUBE.vertices)
    a, b, c = CUBE.triangles[0]
    inward = CUBE.area_vectors[0] / np.linalg.norm(CUBE.area_vectors[0])
    dented = np.concatenate([CUBE.triangles[1:], [[a, b, middle], [b, c, middle], [c, a, middle]]])
    for depth, crosses in ((9.9, False), (10.1, True)):
        tip = CUBE.vertices[CUBE.triangles[0]].mean(axis=0) - depth * inward
        mesh = TriangleMesh(np.concatenate([CUBE.vertices, [tip]]), dented)
        assert mesh.is_closed
        assert bool(len(crossing_pairs(mesh))) == crosses
