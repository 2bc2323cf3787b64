# SPDX-License-Identifier: GPL-3.0-or-later
"""STL and PLY read back by trimesh; the layout of STL by its published description (84 + 50 m bytes)."""

import struct
from pathlib import Path

import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.output.ply_file import write_ply
from addon.output.stl_file import write_stl
from tests.host.outside_meshes import torus_mesh


def test_stl_layout(tmp_path: Path) -> None:
    mesh = torus_mesh()
    write_stl(tmp_path / "torus.stl", mesh)
    content = (tmp_path / "torus.stl").read_bytes()
    count = len(mesh.triangles)
    assert len(content) == 84 + 50 * count
    assert not content.startswith(b"solid")
    assert struct.unpack_from("<I", content, 80) == (count,)
    first = np.array(struct.unpack_from("<12f", content, 84)).reshape(4, 3)
    assert_allclose(first[1:], mesh.corners[0], rtol=1e-6)
    edges = np.cross(first[2] - first[1], first[3] - first[1])
    assert_allclose(first[0], edges / np.linalg.norm(edges), atol=1e-5)
    assert struct.unpack_from("<H", content, 84 + 48) == (0,)


def test_stl_is_read_by_others(tmp_path: Path) -> None:
    mesh = torus_mesh()
    write_stl(tmp_path / "torus.stl", mesh)
    read = trimesh.load_mesh(tmp_path / "torus.stl")
    assert read.is_watertight
    assert read.is_winding_consistent
    # float32 holds 24 bits: 3e-5 mm at 360 mm
    assert_allclose(read.volume, mesh.volume, rtol=1e-6)
    assert_allclose(read.bounds, mesh.bounds, atol=3e-5)


def test_stl_triangle_without_area(tmp_path: Path) -> None:
    write_stl(tmp_path / "flat.stl", TriangleMesh(np.array([[0, 0, 0], [1, 0, 0], [2, 0, 0]]), np.array([[0, 1, 2]])))
    content = (tmp_path / "flat.stl").read_bytes()
    assert struct.unpack_from("<3f", content, 84) == (0.0, 0.0, 0.0)


def test_ply_is_read_by_others(tmp_path: Path) -> None:
    mesh = torus_mesh()
    clearance = np.random.default_rng(3).uniform(-2, 20, len(mesh.vertices))
    write_ply(tmp_path / "torus.ply", mesh, clearance)
    read = trimesh.load_mesh(tmp_path / "torus.ply", process=False)
    assert_allclose(read.vertices, mesh.vertices, rtol=0, atol=0)
    assert (read.faces == mesh.triangles).all()
    assert_allclose(read.metadata["_ply_raw"]["vertex"]["data"]["clearance"].ravel(), clearance, rtol=1e-6)


def test_ply_needs_a_clearance_for_each_vertex(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="expected"):
        write_ply(tmp_path / "torus.ply", torus_mesh(), np.zeros(3))
    assert not (tmp_path / "torus.ply").exists()
