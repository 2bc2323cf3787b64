# SPDX-License-Identifier: GPL-3.0-or-later
"""The parting board of a mold in two pieces: on the plug's center line, its face in the center plane."""

import numpy as np
import pytest
import trimesh

from addon.core.base.errors import ShapeError
from addon.core.laminate.parting_board import parting_board
from addon.core.mesh.triangle_mesh import TriangleMesh
from tests.core.laminate.test_flanged_shell import shells


def test_board_stands_on_the_plug_and_is_as_wide_as_asked() -> None:
    """Distances by trimesh, volume of what both share by manifold3d through trimesh."""
    plug = shells("front_mold")["plug"].mesh
    board = parting_board(plug, 50.0, 4.0)
    assert board.mesh.is_closed and board.mesh.volume > 0.0 and board.mesh.part_count == 1
    assert (board.mesh.bounds[:, 0] == [-4.0, 0.0]).all()
    lower = board.mesh.vertices[: len(board.mesh.vertices) // 4]
    both = [trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False) for mesh in (plug, board.mesh)]
    assert trimesh.proximity.closest_point(both[0], lower[2:-2])[1].max() < 0.1
    common = trimesh.boolean.intersection(both, engine="manifold")
    assert common.is_empty or abs(common.volume) < 0.002 * board.mesh.volume
    reach = np.linalg.norm(board.mesh.vertices[:, 1:], axis=1)
    half = len(lower)
    np.testing.assert_allclose(reach[half : 2 * half] - reach[:half], 50.0)
    # from flange to flange
    np.testing.assert_allclose(np.sort(board.mesh.bounds[:, 1]), np.sort(plug.bounds[:, 1]), atol=60.0)


def test_bolts_and_keys_lie_on_its_face_apart() -> None:
    board = parting_board(shells("front_mold")["plug"].mesh, 50.0, 4.0)
    places = np.concatenate([board.bolts, board.keys])
    assert (places[:, 0] == 0.0).all() and len(board.keys) == len(board.bolts) - 1
    apart = np.linalg.norm(places[:, None] - places[None], axis=2) + 1e3 * np.eye(len(places))
    assert apart.min() > 40.0
    surface = trimesh.Trimesh(board.mesh.vertices, board.mesh.triangles, process=False)
    assert trimesh.proximity.closest_point(surface, places)[1].max() < 1e-6


def test_plug_beside_the_center_plane_is_refused() -> None:
    plug = shells("front_mold")["plug"].mesh
    with pytest.raises(ShapeError, match=r"laminate\.pieces = 1"):
        parting_board(TriangleMesh(plug.vertices + [500.0, 0.0, 0.0], plug.triangles), 50.0, 4.0)
