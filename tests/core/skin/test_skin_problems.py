# SPDX-License-Identifier: GPL-3.0-or-later
"""Cages without a skin are refused with one sentence that names what, how many and where."""

import numpy as np
import pytest

from addon.core.base.errors import CageError
from addon.core.skin.cage import CageTopology, topology_of_faces
from addon.core.skin.cage_problems import cage_problems
from addon.core.skin.skin_stencil import skin_stencil

CASES = {
    "fin": (6, [[0, 1, 2, 3], [1, 0, 4, 5], [0, 1, 5, 4]], "1 edge is in more than two faces, first between the points 0 and 1"),
    "winding": (
        6,
        [[0, 1, 2, 3], [0, 1, 4, 5]],
        "1 edge joins faces that are wound against each other, first between the points 0 and 1",
    ),
    "bow-tie": (7, [[0, 1, 2, 3], [2, 4, 5, 6]], "1 point joins faces that share no edge there, first point 2"),
    "line": (4, [[0, 1]], "1 face has fewer than 3 corners, first face 0"),
    "repeated": (4, [[0, 1, 1, 2]], "1 face uses a point twice, first face 0"),
    "no face": (3, [], "the cage has no face"),
}


@pytest.mark.parametrize("name", CASES)
def test_no_skin_is_said_in_one_sentence(name):
    count, faces, sentence = CASES[name]
    topology = topology_of_faces(count, faces)
    with pytest.raises(CageError) as error:
        skin_stencil(topology, 2)
    assert str(error.value) == sentence
    assert cage_problems(topology)[0].sentence == sentence


def test_all_kinds_of_faults_are_named():
    topology = topology_of_faces(11, [[0, 1, 2, 3], [1, 0, 4, 5], [1, 0, 6, 7], [2, 3, 8, 9]])
    assert cage_problems(topology) == (
        ("no_skin", "1 edge is in more than two faces, first between the points 0 and 1"),
        ("winding", "1 edge joins faces that are wound against each other, first between the points 2 and 3"),
        ("loose_points", "1 point belongs to no face, first point 10"),
    )


def test_face_in_the_mirror_plane_is_named():
    topology = topology_of_faces(4, [[0, 1, 2, 3]], on_plane=[True] * 4)
    with pytest.raises(CageError, match="1 face lies in the mirror plane on top of the mirror image, first face 0"):
        skin_stencil(topology, 1)


def test_faces_that_share_an_edge_on_the_mirror_plane_are_named():
    # Both faces and both images meet in one edge.
    on_plane = [True, True, False, False, False, False]
    topology = topology_of_faces(6, [[0, 1, 2, 3], [1, 0, 4, 5]], on_plane=on_plane)
    with pytest.raises(CageError, match="1 edge is in more than two faces, first between the points 0 and 1"):
        skin_stencil(topology, 1)


def test_point_outside_the_cage_is_named():
    with pytest.raises(CageError, match="a face names a point that is not among the 3 points"):
        skin_stencil(topology_of_faces(3, [[0, 1, 7]]), 1)


def test_loose_points_have_no_skin_but_do_no_harm():
    topology = topology_of_faces(7, [[1, 2, 3, 4]], on_plane=[False] * 7)
    assert cage_problems(topology) == (("loose_points", "3 points belong to no face, first point 0"),)
    stencil = skin_stencil(topology, 2)
    assert set(stencil.position.index.tolist()) == {1, 2, 3, 4}
    np.testing.assert_array_equal(stencil.corner_point < 0, [True, False, False, False, False, True, True])


def test_crease_on_an_edge_without_faces_does_no_harm():
    plain = topology_of_faces(5, [[0, 1, 2, 3]])
    creased = topology_of_faces(5, [[0, 1, 2, 3]], creases={(3, 4): 1.0})
    assert isinstance(creased, CageTopology)
    np.testing.assert_array_equal(skin_stencil(plain, 2).position.weight, skin_stencil(creased, 2).position.weight)


def test_good_cage_has_no_problems():
    assert cage_problems(topology_of_faces(4, [[0, 1, 2, 3]])) == ()
