# SPDX-License-Identifier: GPL-3.0-or-later
"""A full cage made half again."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy.spatial import KDTree

from addon.core.skin.cage import Cage, topology_of_faces
from addon.core.skin.half_cage import half_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil


def full_sheet(columns: int) -> Cage:
    """A sheet of quads across the middle plane, bent, symmetric."""
    x, y = np.meshgrid(np.linspace(-60.0, 60.0, columns), np.linspace(0.0, 120.0, 4))
    points = np.column_stack([x.ravel(), y.ravel(), 300.0 - 0.004 * x.ravel() ** 2])
    first = (np.arange(3)[:, None] * columns + np.arange(columns - 1)).ravel()
    faces = np.column_stack([first, first + 1, first + columns + 1, first + columns])
    crease = {(int(columns - 1), int(2 * columns - 1)): 1.0}
    return Cage(topology_of_faces(len(points), faces.tolist(), creases=crease), points)


def test_a_symmetric_cage_keeps_its_skin() -> None:
    full = full_sheet(5)
    plain = Cage(
        topology_of_faces(len(full.points), [list(map(int, full.topology.corners[4 * i : 4 * i + 4])) for i in range(12)]),
        full.points,
    )
    half = half_cage(plain, 0.01)
    assert half.without_partner == 0 and half.largest_mm == 0.0
    assert_array_equal(half.cage.points[half.cage.topology.on_plane, 0], 0.0)
    one = skin(plain, skin_stencil(plain.topology, 3)).points
    other = full_skin(skin(half.cage, skin_stencil(half.cage.topology, 3))).points
    assert len(one) == len(other)
    assert_allclose(KDTree(one).query(other)[0], 0.0, atol=1e-9)
    assert_allclose(KDTree(other).query(one)[0], 0.0, atol=1e-9)


def test_what_the_sides_differ_by_is_told() -> None:
    full = full_sheet(5)
    points = full.points.copy()
    points[0] += [0.0, 2.0, 0.0]
    points[5] += [0.0, 0.0, 30.0]
    half = half_cage(Cage(full.topology, points), 0.01)
    assert_allclose(half.largest_mm, 2.0)
    assert half.without_partner == 2
    assert_array_equal(half.cage.points[:, 0] >= 0.0, True)
    assert_array_equal(half.cage.topology.creases, [1.0])


def test_faces_across_the_plane_end_on_it() -> None:
    half = half_cage(full_sheet(4), 0.01)
    assert half.cage.topology.face_count == 6
    assert_allclose(np.unique(half.cage.points[:, 0]), [0.0, 20.0, 60.0])
    with pytest.raises(ValueError, match="no face on the rider's left"):
        half_cage(Cage(full_sheet(5).topology, full_sheet(5).points - [200.0, 0.0, 0.0]), 0.01)


def test_points_across_the_plane_go_to_where_their_edges_meet_it() -> None:
    """A tilted flat sheet: what is cut off leaves the rest in its plane, where it was."""
    full = full_sheet(4)
    points = full.points.copy()
    points[:, 0] += 5.0
    points[:, 2] = 300.0 + 0.3 * points[:, 0] + 0.2 * points[:, 1]
    half = half_cage(Cage(full.topology, points), 0.01)
    x, y, z = half.cage.points.T
    assert_allclose(z, 300.0 + 0.3 * x + 0.2 * y, atol=1e-9)
    assert_allclose(np.unique(x), [0.0, 25.0, 65.0])
    assert_array_equal(half.cage.topology.on_plane, x == 0.0)


def test_a_corner_with_no_edge_to_the_kept_side_goes_straight_to_the_plane() -> None:
    points = np.array([[30.0, 0.0, 0.0], [-10.0, 40.0, 0.0], [-30.0, 30.0, 0.0], [-10.0, -40.0, 0.0]])
    half = half_cage(Cage(topology_of_faces(4, [[0, 1, 2, 3]]), points), 0.01)
    assert_allclose(half.cage.points, [[30.0, 0.0, 0.0], [0.0, 30.0, 0.0], [0.0, 30.0, 0.0], [0.0, -30.0, 0.0]])
