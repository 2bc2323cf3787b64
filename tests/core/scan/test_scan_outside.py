# SPDX-License-Identifier: GPL-3.0-or-later
"""Meshes that others made, fetched from Debian's packages when these tests are asked for: scripts/test.py -m outside.

Figures of the meshes, read off their vertices: turbine.off (libcgal-demo) has its axis along x, ten holes of radius 0.01061 on
a pitch circle of radius 0.45467, 36 degrees apart. anchor.off (libcgal-demo) has two square flanges with two holes of radius 0.06
each. The wheelbarrow of BlendSwap-CC-0 (sweethome3d-furniture, CC0) has a wheel of 32 sides, axis z, radius 14.797 over the corners,
width 8.822.
"""

from __future__ import annotations

import io
import subprocess
import tarfile
import zipfile
from pathlib import Path

import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from addon.core.scan.alignment.align_scan import align_scan
from addon.core.scan.alignment.alignment_file import alignment_dict
from addon.core.scan.data.hints import parse_hints
from addon.core.scan.data.scan_data import Scan
from addon.core.scan.wheel.axis import Axis

from .scan_scenes import NOTHING, disturbed, random_pose

pytestmark = pytest.mark.outside
SCALE = 600.0
"""Meshes of size 1 are scaled to about the size of a motorcycle's wheel, mm."""


def package_file(name: str, inside: str, folder: Path) -> bytes:
    """A file of a Debian package; the network missing is a failure, not a skip."""
    subprocess.run(["apt-get", "download", name], cwd=folder, check=True, capture_output=True)
    (package,) = folder.glob(f"{name}_*.deb")
    subprocess.run(["dpkg-deb", "-x", str(package), str(folder / name)], check=True)
    return (folder / name / inside).read_bytes()


@pytest.fixture(scope="module")
def cgal(tmp_path_factory: pytest.TempPathFactory) -> dict[str, trimesh.Trimesh]:
    data = package_file("libcgal-demo", "usr/share/doc/libcgal-dev/data.tar.gz", tmp_path_factory.mktemp("cgal"))
    found = {}
    with tarfile.open(fileobj=io.BytesIO(data)) as archive:
        for name in ("turbine", "anchor"):
            member = archive.extractfile(f"data/meshes/{name}.off")
            assert member is not None
            found[name] = trimesh.load(io.BytesIO(member.read()), file_type="off", process=False)
    return found


@pytest.fixture(scope="module")
def wheelbarrow(tmp_path_factory: pytest.TempPathFactory) -> trimesh.Trimesh:
    inside = "usr/share/sweethome3d/furniture/BlendSwap-CC-0.sh3f"
    data = package_file("sweethome3d-furniture", inside, tmp_path_factory.mktemp("barrow"))
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        text = archive.read("blendswap-cc-0/wheelbarrow/wheelbarrow.obj").decode()
    return trimesh.load(io.StringIO(text), file_type="obj", force="mesh", process=False, skip_materials=True)


@pytest.mark.parametrize("seed", [0, 1])
def test_turbine_posed_sampled_and_cut(cgal: dict[str, trimesh.Trimesh], seed: int) -> None:
    rng = np.random.default_rng(seed)
    pose = random_pose(rng)
    points = trimesh.sample.sample_surface(cgal["turbine"], 200_000, seed=seed)[0] * SCALE
    kept = points[points[:, 2] > (-1e9, -0.1 * SCALE)[seed]]  # whole, then about the upper half
    found = align_scan(Scan(pose.scan(disturbed(rng, kept, 0.1, 0.03)), NOTHING))
    true = Axis(pose.shift, pose.rotation[:, 0])
    assert true.angle_to_deg(found.axis) < 0.1
    assert np.linalg.norm(np.cross(found.axis.point - pose.shift, true.direction)) < 0.3
    assert_allclose(found.section.crown_radius, 0.5 * SCALE, atol=0.6)


def test_turbine_holes_lie_on_their_pitch_circle(cgal: dict[str, trimesh.Trimesh]) -> None:
    """The face with the ten holes as "mount": diameters and pitch."""
    mesh = cgal["turbine"]
    points = np.array(mesh.vertices) * SCALE
    turn = 2.0 * np.pi * np.arange(360) / 360
    ring = np.column_stack([0 * turn, 0.45467 * np.cos(turn), 0.45467 * np.sin(turn)]) * SCALE
    normals = np.array(mesh.face_normals)
    flat = np.abs(normals[:, 0]) > 0.999
    middle = points[np.array(mesh.faces)].mean(axis=1)
    near_ring = flat & (np.abs(np.hypot(middle[:, 1], middle[:, 2]) - 0.45467 * SCALE) < 0.03 * SCALE)
    levels, counts = np.unique(middle[near_ring, 0].round(2), return_counts=True)
    ring[:, 0] = levels[np.argmax(counts)]
    hints = {"mount": [[*point, 0.035 * SCALE] for point in ring[::2]]}
    found = align_scan(Scan(points, np.array(mesh.faces, dtype=np.int64)), parse_hints(hints))
    assert found.face is not None
    assert len(found.face.holes) == 10
    for hole in found.face.holes:
        assert abs(hole.diameter - 2.0 * 0.01061 * SCALE) < 4.0 * hole.diameter_sigma
    assert_allclose(np.mean([hole.diameter for hole in found.face.holes]), 2.0 * 0.01061 * SCALE, rtol=0.03)
    y, z = found.face.hole_points[:, 1:].T
    assert_allclose(np.hypot(y, z), 0.45467 * SCALE, atol=0.3)
    assert_allclose(np.diff(np.sort(np.degrees(np.arctan2(z, y)))), 36.0, atol=0.15)


def test_anchor_flange_holes(cgal: dict[str, trimesh.Trimesh]) -> None:
    """The largest flat side of each flange shows its two holes of radius 0.06."""
    from addon.core.scan.holes.hole_circles import hole_circles

    mesh = cgal["anchor"]
    scale, found = 100.0, []
    for facet, area in sorted(zip(mesh.facets, mesh.facets_area, strict=True), key=lambda pair: -pair[1])[:8]:
        part = mesh.submesh([facet], append=True, repair=False)
        points = trimesh.sample.sample_surface(part, 20_000, seed=1)[0] * scale
        normal = mesh.facets_normal[next(i for i, one in enumerate(mesh.facets) if one is facet)]
        tangents = np.linalg.svd(normal[None])[2][1:]
        holes = hole_circles(np.column_stack([points @ tangents.T, 0.0 * points[:, 0]]), 6.0, 20.0, 1e-3)
        if holes and area > 0.05:
            found.append([hole.diameter for hole in holes])
    assert len(found) >= 2
    for diameters in found[:2]:
        assert len(diameters) == 2
        assert_allclose(diameters, 12.0, atol=0.35)


@pytest.mark.parametrize(("hinted", "seed"), [(True, 0), (True, 1), (False, 2)])
def test_wheelbarrow_wheel_in_its_fork(wheelbarrow: trimesh.Trimesh, hinted: bool, seed: int) -> None:
    """Corners at 14.797, flats 14.797 (1 - cos(pi / 32)) = 0.071 lower; seed 1 leaves only the front of the wheel."""
    rng = np.random.default_rng(seed)
    pose, scale = random_pose(rng), 20.0
    points = trimesh.sample.sample_surface(wheelbarrow, 300_000, seed=seed)[0]
    center = np.array([39.079, 14.868, 0.0])
    if seed == 1:
        points = points[points[:, 0] > center[0] - 4.0]
    scan = pose.scan(scale * disturbed(rng, points, 0.005, 0.0))
    hints = parse_hints({"tire": [[*pose.scan(scale * center), 16.0 * scale]]}) if hinted else None
    found = align_scan(Scan(scan, NOTHING), hints)
    true = Axis(pose.scan(scale * center), pose.rotation[:, 2])
    assert true.angle_to_deg(found.axis) < 0.2
    assert np.linalg.norm(found.axis.point - true.point) < 0.05 * scale
    assert (14.797 - 0.071 - 0.02) * scale < found.section.crown_radius < (14.797 + 0.02) * scale
    assert_allclose(found.section.section_width, 8.822 * scale, atol=0.06 * scale)
    assert alignment_dict(found)["confidence"] > (0.5 if hinted else 0.0)
