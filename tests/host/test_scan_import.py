# SPDX-License-Identifier: GPL-3.0-or-later
"""Scans from files that trimesh and the host wrote, in every format, and the command that aligns them."""

from __future__ import annotations

import json
import struct
import subprocess
import sys
from pathlib import Path

import bpy
import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.scan.alignment.align_scan import align_scan
from addon.core.scan.data.read_ply import read_ply
from addon.core.scan.data.read_stl import read_stl
from addon.core.scan.data.scan_data import Scan
from addon.host.scan_import import import_scan
from tests.core.scan.scan_scenes import RADIUS, Plate, disturbed, front_end, random_pose

SCRIPT = Path(__file__).parents[2] / "scripts" / "scan.py"
CASES = [("ply", {"encoding": "ascii"}), ("ply", {}), ("stl", {}), ("stl_ascii", {}), ("obj", {}), ("glb", {}), ("gltf", {})]


def mesh() -> trimesh.Trimesh:
    """A torus off the origin, its axis turned, so that exchanged or negated axes show."""
    made = trimesh.creation.torus(300, 60, major_sections=24, minor_sections=12)
    made.apply_transform(trimesh.transformations.euler_matrix(0.3, -0.7, 1.1))
    made.apply_translation([100.0, 250.0, -75.0])
    return made


def write(made: trimesh.Trimesh, folder: Path, kind: str, options: dict[str, str]) -> Path:
    path = folder / f"scan.{kind.removesuffix('_ascii')}"
    if kind == "gltf":
        for name, data in trimesh.exchange.gltf.export_gltf(trimesh.Scene(made)).items():
            (folder / name).write_bytes(data)
        return folder / "model.gltf"
    path.write_bytes(
        made.export(file_type=kind, **options) if kind != "stl_ascii" and kind != "obj" else made.export(file_type=kind).encode()
    )
    return path


@pytest.mark.parametrize(("kind", "options"), CASES)
def test_every_format_gives_the_same_triangles_in_the_files_own_coordinates(
    kind: str, options: dict[str, str], tmp_path: Path
) -> None:
    made = mesh()
    scan = import_scan(write(made, tmp_path, kind, options))
    assert len(scan.triangles) == len(made.faces)
    found = trimesh.Trimesh(scan.points, scan.triangles, process=False)
    assert_allclose(found.bounds, made.bounds, atol=1e-3)
    assert_allclose(found.volume, made.volume, rtol=1e-5)  # and so the faces look outward
    assert_allclose(found.center_mass, made.center_mass, atol=1e-2)


def test_import_leaves_the_scene_as_it_was(tmp_path: Path) -> None:
    before = {item.name for item in bpy.data.objects}, len(bpy.data.meshes), len(bpy.data.materials)
    for kind in ("obj", "glb"):
        import_scan(write(mesh(), tmp_path, kind, {}))
    assert ({item.name for item in bpy.data.objects}, len(bpy.data.meshes), len(bpy.data.materials)) == before


@pytest.mark.parametrize("kind", ["glb", "obj"])
def test_a_scene_in_millimeters_reads_the_same(kind: str, tmp_path: Path) -> None:
    units = bpy.context.scene.unit_settings
    path = write(mesh(), tmp_path, kind, {})
    units.scale_length = 1.0
    plain = import_scan(path)
    units.scale_length = 0.001
    try:
        assert_allclose(import_scan(path).points, plain.points, rtol=1e-6)
        assert abs(units.scale_length - 0.001) < 1e-9
    finally:
        units.scale_length = 1.0


@pytest.mark.parametrize("binary", [True, False])
def test_bare_points_of_a_ply(binary: bool, tmp_path: Path) -> None:
    points = np.random.default_rng(1).normal(0.0, 300.0, (500, 3))
    cloud = trimesh.PointCloud(points)
    path = tmp_path / "cloud.ply"
    path.write_bytes(cloud.export(file_type="ply", encoding="binary" if binary else "ascii"))
    scan = import_scan(path)
    assert_allclose(scan.points, points, rtol=1e-5, atol=1e-3)
    assert len(scan.triangles) == 0


def test_bare_points_of_an_obj(tmp_path: Path) -> None:
    points = np.random.default_rng(2).normal(0.0, 300.0, (500, 3))
    path = tmp_path / "cloud.obj"
    path.write_text("".join(f"v {x:.6f} {y:.6f} {z:.6f}\n" for x, y, z in points))
    assert_allclose(import_scan(path).points, points, atol=1e-3)


def test_a_big_endian_ply_of_polygons_with_more_properties(tmp_path: Path) -> None:
    """Written by hand from the format's description: a quad and a triangle, doubles, normals, colors, an extra element."""
    header = (
        "ply\nformat binary_big_endian 1.0\ncomment made by hand\nelement vertex 5\nproperty double x\nproperty double y\n"
        "property double z\nproperty float nx\nproperty float ny\nproperty float nz\nproperty uchar red\nelement edge 2\n"
        "property int a\nproperty int b\nelement face 2\nproperty uchar flag\nproperty list uchar int vertex_indices\nend_header\n"
    )
    points = [(0.0, 0, 0), (1.5, 0, 0), (1.5, 2, 0), (0, 2, 0), (0, 0, 3)]
    body = b"".join(struct.pack(">dddfffB", *point, 0.0, 0.0, 1.0, 255) for point in points)
    body += struct.pack(">iiii", 0, 1, 1, 2)
    body += struct.pack(">BBiiii", 7, 4, 0, 1, 2, 3) + struct.pack(">BBiii", 7, 3, 0, 1, 4)
    path = tmp_path / "hand.ply"
    path.write_bytes(header.encode() + body)
    scan = read_ply(path)
    assert_allclose(scan.points, points)
    assert scan.triangles.tolist() == [[0, 1, 2], [0, 2, 3], [0, 1, 4]]
    assert scan.normals is not None and (scan.normals == [0.0, 0.0, 1.0]).all()


@pytest.mark.parametrize(
    ("name", "data", "message"),
    [
        ("a.ply", b"solid", "not a PLY"),
        (
            "a.ply",
            b"ply\nformat ascii 1.0\nelement vertex 9\nproperty float x\nproperty float y\nproperty float z\nend_header\n0 0 0\n",
            "cut off",
        ),
        ("a.ply", b"ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nend_header\n0\n", "no vertices with x, y and z"),
        ("a.ply", b"ply\nformat morse 1.0\nend_header\n", "not understood"),
        ("a.stl", b"x" * 90, "no STL"),
        ("a.stl", b"solid nothing\nendsolid\n", "0 corners"),
        ("a.dwg", b"", "suffix .dwg, allowed are .ply"),
        ("a.glb", b"glTF nonsense", "cannot read"),
    ],
)
def test_bad_files_are_refused_with_one_sentence(name: str, data: bytes, message: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(data)
    with pytest.raises(JobError, match=message):
        import_scan(tmp_path / name)
    with pytest.raises(JobError, match="no such file"):
        import_scan(tmp_path / "missing.ply")


def test_binary_stl_that_starts_with_solid(tmp_path: Path) -> None:
    """The length decides, not the first word: 84 + 50 n bytes."""
    made = mesh()
    data = made.export(file_type="stl")
    path = tmp_path / "tricky.stl"
    path.write_bytes(b"solid".ljust(80) + data[80:])
    scan = read_stl(path)
    assert len(scan.triangles) == len(made.faces)
    assert len(scan.points) == len(made.vertices)


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, str(SCRIPT), *arguments], capture_output=True, text=True, check=False, timeout=300)


def test_the_command_writes_the_alignment(tmp_path: Path) -> None:
    rng = np.random.default_rng(20)
    pose = random_pose(rng)
    points = pose.scan(disturbed(rng, front_end(rng, 60_000, 220.0), 0.1, 0.02))
    (tmp_path / "scan.ply").write_bytes(trimesh.PointCloud(points / 1000.0).export(file_type="ply"))
    (tmp_path / "hints.json").write_text(
        json.dumps({"up": pose.rotation[:, 2].tolist(), "forward": (-pose.rotation[:, 1]).tolist()})
    )
    done = run(str(tmp_path / "scan.ply"), "--hints", str(tmp_path / "hints.json"), "--unit", "m", "--out", str(tmp_path / "out"))
    assert done.returncode == 0, done.stderr
    values = json.loads((tmp_path / "out" / "alignment.json").read_text())
    matrix = np.array(values["scan_to_wheel"])
    assert_allclose(matrix[:3, :3] @ pose.rotation, 1000.0 * np.eye(3), atol=1.0)
    assert_allclose(matrix[:3, :3] @ (pose.shift / 1000.0) + matrix[:3, 3], 0.0, atol=0.3)
    assert_allclose(values["crown_radius_mm"], RADIUS, atol=0.1)
    assert_allclose(values["mount"]["height"], Plate().height, atol=0.2)  # found, as no hint marks it
    here = align_scan(Scan(points / 1000.0, np.zeros((0, 3), np.int64)), unit="m")
    assert_allclose(values["section_width_mm"], here.section.section_width, atol=0.05)


def test_the_command_refuses_with_code_2_and_writes_nothing(tmp_path: Path) -> None:
    flat = np.column_stack([np.random.default_rng(1).uniform(0.0, 500.0, (5000, 2)), np.zeros(5000)])
    (tmp_path / "flat.ply").write_bytes(trimesh.PointCloud(flat).export(file_type="ply"))
    done = run(str(tmp_path / "flat.ply"), "--out", str(tmp_path / "out"))
    assert done.returncode == 2
    assert "crown radius" not in done.stdout  # the host may print lines of its own
    assert "surface of revolution" in done.stderr.strip().splitlines()[-1]
    assert not (tmp_path / "out").exists()
