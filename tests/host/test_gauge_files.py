# SPDX-License-Identifier: GPL-3.0-or-later
"""Gauges on disk, and the way back: a bike that is not as its sheet says is found from gaps against them."""

import importlib.util
import json
import sys
import zipfile
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from xml.etree import ElementTree

import numpy as np
import pytest
import trimesh

from addon.core.base.errors import JobError, ShapeError
from addon.core.gauges.gauge import Gauge
from addon.core.gauges.gauge_mesh import gauge_mesh
from addon.core.gauges.prisms import convex_prism, cylinder, frame_place
from addon.core.job.job_sheet import Job, parse_job, read_job_sheet
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.readings.feedback_geometry import GapModel
from addon.core.seat.mount import mount_frame
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import Skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.output.gauge_files import POINTS_FILE, write_gauges
from addon.output.sheet_file import write_sheet
from tests.crossing_pairs import crossing_pairs

PROFILE = [[0, 0], [10, 0.8], [20, 3.2], [30, 7.5], [40, 14.2], [50, 24.5], [57, 36], [60, 45]]
PLACE = frame_place(np.zeros(3), *np.eye(3))
SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])


def _job() -> Job:
    return parse_job(
        {
            "name": "Gauge Test",
            "tire": {"size": "120/70 ZR17", "measured_radius": 300.0, "measured_width": 120.0, "profile": PROFILE},
            "mount": {
                "height": 48.0,
                "ahead": 15.0,
                "tilt": 2.0,
                "bolts": [[-25, -20], [25, -20], [25, 20], [-25, 20]],
                "thread": "M6",
            },
            "clearance": {"gap": 10.0},
            "wall": {"thickness": 3.0},
        }
    )


def _skin(job: Job) -> Skin:
    cage = seed_cage(job).cage
    return skin(cage, skin_stencil(cage.topology, 4))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Job, Path]:
    job, folder = _job(), tmp_path_factory.mktemp("gauges")
    done = write_gauges(job, _skin(job), folder, stations=[-30.0, 3.0, 30.0], date="2026-11-25")
    assert set(done.names) == {path.name for path in folder.iterdir()}
    return job, folder


def test_every_gauge_is_a_closed_solid_in_wheel_axes(written: tuple[Job, Path]) -> None:
    _, folder = written
    names = {path.stem for path in folder.glob("*.stl")}
    assert {"tire_comb", "drilling_gauge", "crown_strip_-30", "crown_strip_+3", "crown_strip_+30"} <= names
    for path in folder.glob("*.stl"):
        mesh = trimesh.load_mesh(path)
        assert mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 5000.0, path.name
    comb = trimesh.load_mesh(folder / "tire_comb.stl")
    assert comb.bounds[:, 0] == pytest.approx([-66.0, 66.0], abs=1e-3) and comb.bounds[0, 2] == pytest.approx(255.0, abs=1e-3)


def test_three_mf_holds_them_all_on_the_bed(written: tuple[Job, Path]) -> None:
    """Read as plain XML: 3MF Core 1.4.0, 3.3 (transforms, row vectors) and 4.1 (meshes)."""
    job, folder = written
    space = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
    with zipfile.ZipFile(folder / "gauges.3mf") as package:
        model = ElementTree.fromstring(package.read("3D/3dmodel.model"))
    objects = {item.attrib["id"]: item for item in model.iter(f"{space}object")}
    items = list(model.iter(f"{space}item"))
    assert model.attrib["unit"] == "millimeter" and len(items) == len(list(folder.glob("*.stl")))
    usable = np.array(job.printer.bed) - 2.0 * job.printer.margin
    for item in items:
        matrix = np.array(item.attrib["transform"].split(), dtype=float).reshape(4, 3)
        vertices = objects[item.attrib["objectid"]].iter(f"{space}vertex")
        points = np.array([[float(vertex.attrib[axis]) for axis in "xyz"] for vertex in vertices])
        placed = points @ matrix[:3] + matrix[3]
        assert (np.ptp(placed, axis=0) <= usable + 1e-3).all()
        assert placed.min(axis=0) == pytest.approx([0.0, 0.0, 0.0], abs=2e-3)


def test_strip_has_the_section_of_the_skin(written: tuple[Job, Path]) -> None:
    """Rays from the axle through the strip's middle plane meet its inner face one wall under the skin."""
    job, folder = written
    mesh = trimesh.load_mesh(folder / "crown_strip_-30.stl")
    record = json.loads((folder / POINTS_FILE).read_text())
    model = GapModel(job)
    rows = [row for row in record["points"] if row["station"] == -30.0]
    assert len(rows) == 5
    positions = np.array([row["position"] for row in rows])
    frame = mount_frame(job)
    points = frame.origin + positions @ np.stack([frame.x, frame.forward, frame.up])
    assert np.abs(trimesh.proximity.signed_distance(mesh, points)).max() < 0.03
    expected = model.gaps(np.array([48.0, 15.0, 2.0, 0.0, 300.0]), positions)
    np.testing.assert_allclose([row["expected_mm"] for row in rows], expected, atol=2e-3)


def _script() -> ModuleType:
    path = Path(__file__).parents[2] / "scripts" / "feedback.py"
    sys.path.insert(0, str(path.parent))
    try:
        spec = importlib.util.spec_from_file_location("feedback_script", path)
        assert spec is not None and spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    finally:
        sys.path.remove(str(path.parent))
    return module


def test_falsified_sheet_is_recovered_from_files(
    written: tuple[Job, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, folder = written
    record = json.loads((folder / POINTS_FILE).read_text())
    true = np.array([46.4, 19.0, 3.1, -1.5, 301.2])
    gaps = GapModel(job).gaps(true, np.array([row["position"] for row in record["points"]]))
    random = np.random.default_rng(12)
    lines = [f'gauges = "{(folder / POINTS_FILE).as_posix()}"']
    for row, gap in zip(record["points"], gaps + 0.1 * random.standard_normal(len(gaps)), strict=True):
        lines.append(f'[[gap]]\nstation = {row["station"]}\npoint = "{row["point"]}"\nmm = {gap:.3f}\nsigma = 0.1')
    readings, sheet = tmp_path / "readings.toml", tmp_path / "bike.toml"
    write_sheet(sheet, job)
    readings.write_text("\n".join([*lines, '[[direct]]\nquantity = "tilt"\nvalue = 3.1\nsigma = 0.2']))
    assert _script().run(sheet, readings, None) == 0
    found = read_job_sheet(tmp_path / "bike_corrected.toml")
    assert found.mount.height == pytest.approx(46.4, abs=0.3) and found.tire.measured_radius == pytest.approx(301.2, abs=3.0)
    assert found.mount.ahead == pytest.approx(19.0, abs=3.0) and found.mount.bolts[0][0] == pytest.approx(-26.5, abs=0.3)
    assert read_job_sheet(sheet) == job and "Repeat first" in capsys.readouterr().out
    readings.write_text("\n".join(lines))
    assert _script().run(sheet, readings, tmp_path / "gaps_only.toml") == 0
    said = capsys.readouterr().out
    assert "undetermined" in said and "cannot be told apart" in said
    assert read_job_sheet(tmp_path / "gaps_only.toml").mount.tilt == job.mount.tilt
    readings.write_text("[[gap]]\nstation = 99\npoint = 'C'\nmm = 3\n" + f"gauges = '{POINTS_FILE}'")
    assert _script().run(sheet, readings, None) == 2


def test_nothing_is_written_where_a_gauge_cannot_be_made(tmp_path: Path) -> None:
    job = _job()
    with pytest.raises(JobError, match="no section there"):
        write_gauges(job, _skin(job), tmp_path / "new", stations=[150.0])
    assert not (tmp_path / "new").exists()
    small = replace(job, printer=replace(job.printer, bed=(60.0, 60.0, 60.0)))
    with pytest.raises(JobError, match=r"printer\.bed"):
        write_gauges(small, _skin(job), tmp_path / "new", stations=[3.0])


def _gauge(*solids: TriangleMesh, cuts: tuple[TriangleMesh, ...] = ()) -> Gauge:
    return Gauge("test", "Test", solids, cuts, np.eye(4))


def test_gauge_mesh_is_what_the_closed_form_says() -> None:
    one, two = convex_prism(SQUARE, 0.0, 10.0, PLACE), convex_prism(SQUARE + 5.0, 2.0, 8.0, PLACE)
    hole = cylinder([2.0, 2.0], 1.0, -1.0, 11.0, PLACE)
    mesh = gauge_mesh(_gauge(one, two, cuts=(hole,)))
    assert mesh.is_closed and mesh.genus == 1
    assert mesh.volume == pytest.approx(1000.0 + 600.0 - 150.0 - np.pi * 10.0, rel=1e-5)


def test_gauge_mesh_refuses_open_pieces_and_loose_parts_but_drops_specks() -> None:
    one = convex_prism(SQUARE, 0.0, 10.0, PLACE)
    with pytest.raises(ShapeError, match="Test: a piece of it is not a closed body"):
        gauge_mesh(_gauge(TriangleMesh(one.vertices, one.triangles[1:])))
    with pytest.raises(ShapeError, match="Test: it falls into 2 parts"):
        gauge_mesh(_gauge(one, convex_prism(SQUARE + 30.0, 0.0, 10.0, PLACE)))
    with pytest.raises(ShapeError, match="Test: nothing is left"):
        gauge_mesh(_gauge(one, cuts=(convex_prism(SQUARE * 3.0 - 10.0, -1.0, 11.0, PLACE),)))
    speck = convex_prism(0.04 * SQUARE + 30.0, 0.0, 0.5, PLACE)
    assert gauge_mesh(_gauge(one, speck)).volume == pytest.approx(1000.0, rel=1e-9)


def test_gauges_cross_themselves_nowhere_as_they_are_written(written: tuple[Job, Path]) -> None:
    """By exact arithmetic, on the triangles of the files."""
    _, folder = written
    for path in folder.glob("*.stl"):
        mesh = trimesh.load_mesh(path)
        assert not len(crossing_pairs(TriangleMesh(mesh.vertices, mesh.faces))), path.name
