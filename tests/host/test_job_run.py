# SPDX-License-Identifier: GPL-3.0-or-later
"""The whole job as a script runs it, checked on the files by other libraries and by brute force."""

import json
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import manifold3d
import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

import addon
from addon.core.base.errors import JobError
from addon.core.job.job_sheet import read_job_sheet
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.seat.mount import mount_frame
from addon.host.job_run import JobRun, run_job
from addon.host.pictures import job_pictures
from addon.ui.shape.scene_setup import save_scene
from tests.crossing_pairs import crossing_pairs

DEMO = Path(__file__).resolve().parents[2] / "blend_demo"
SHEETS = ("front_17", "front_21", "rear_17", "front_ears")


@pytest.fixture(scope="module", autouse=True)
def registered() -> Iterator[None]:
    addon.register()
    yield
    addon.unregister()


@pytest.fixture(scope="module", params=SHEETS)
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, JobRun]:
    out = tmp_path_factory.mktemp(request.param)
    sheet = DEMO / f"{request.param}.toml"
    return sheet, out, run_job(sheet, out, lambda _: None, save_scene)


def pieces(out: Path, report: dict[str, Any]) -> list[trimesh.Trimesh]:
    return [trimesh.load_mesh(out / piece["file"]) for piece in report["halves"]]


def distance_to_profile(points: np.ndarray, profile: np.ndarray) -> np.ndarray:
    """Distance of points outside of the body of revolution: to every segment of the profile, and to its side, brute force."""
    at = np.column_stack([np.abs(points[:, 0]), np.hypot(points[:, 1], points[:, 2])])
    corners = np.vstack([profile, [profile[-1, 0], 0.0]])
    least = np.full(len(at), np.inf)
    for a, b in pairwise(corners):
        share = np.clip((at - a) @ (b - a) / ((b - a) @ (b - a)), 0.0, 1.0)
        least = np.minimum(least, np.linalg.norm(at - a - share[:, None] * (b - a), axis=1))
    return least


def test_all_files_are_there_and_nothing_else(made: tuple[Path, Path, JobRun]) -> None:
    _, out, run = made
    report = json.loads((out / "report.json").read_text())
    assert report == run.report
    names = {path.name for path in out.iterdir()}
    assert {"fender.3mf", "fender.blend", "fender.ply", "clearance.png", "pieces.png", "report.json"} <= names
    assert (
        {piece["file"] for piece in report["halves"]}
        == {"fender_front.stl", "fender_rear.stl"}
        == {name for name in names if name.endswith(".stl")}
    )
    assert (out / "fender.blend").stat().st_size < 1_000_000


def test_coverage_is_reported_and_metal_where_the_sheet_asks(made: tuple[Path, Path, JobRun]) -> None:
    sheet, out, run = made
    cover = run.report["coverage"]
    assert 0.0 < cover["hidden_from_above"] <= 1.0 and 0.0 <= cover["hidden_from_behind"] < 1.0
    assert cover["lowest"]["height_mm"] <= min(cover["front_tip"]["height_mm"], cover["rear_tip"]["height_mm"]) + 0.1
    job = read_job_sheet(sheet)
    assert (out / "metal").is_dir() == ("metal" in run.report) == (job.metal is not None)
    if job.metal is not None:
        assert {path.suffix for path in (out / "metal").iterdir()} == {".pdf", ".svg", ".dxf"}
        assert [target["name"] for target in cover["targets"]] == ["foot", "foot, other side", "radiator"]
        assert run.report["metal"]["min_clearance_mm"] >= run.report["clearance"]["required_mm"]


def test_the_written_triangles_are_as_clear_as_the_report_says(made: tuple[Path, Path, JobRun]) -> None:
    _, out, run = made
    clearance = run.report["clearance"]
    profile = np.array(run.report["envelope"]["profile"])
    samples = []
    for mesh in pieces(out, run.report):
        finer = mesh.triangles[np.argsort(distance_to_profile(mesh.triangles_center, profile))[:400]]
        inner = np.random.default_rng(3).dirichlet((1.0, 1.0, 1.0), (len(finer), 40))
        samples.append(np.concatenate([mesh.vertices, np.einsum("tkc,tcd->tkd", inner, finer).reshape(-1, 3)]))
    least = distance_to_profile(np.concatenate(samples), profile).min()
    assert clearance["proven_min_mm"] <= least + 1e-4
    assert_allclose(least, clearance["min_mm"], atol=0.02)
    assert clearance["min_mm"] - clearance["proven_min_mm"] <= 0.01 + 1e-4
    assert clearance["proven_min_mm"] >= clearance["required_mm"]
    assert (np.diff(profile[:, 0]) >= 0.0).all() and (profile[:, 0] >= 0.0).all()


def test_required_is_gap_flex_and_uncertainty(made: tuple[Path, Path, JobRun]) -> None:
    _, _, run = made
    lines = {line["name"]: line["mm"] for line in run.report["budget"]}
    beyond = {"gap", "fender flex", "measurement uncertainty", "radius not measured"}
    assert_allclose(run.report["clearance"]["required_mm"], sum(lines.get(name, 0.0) for name in beyond), atol=1e-6)


def test_what_the_least_radius_covers_and_what_lines_the_halves_up_is_told(made: tuple[Path, Path, JobRun]) -> None:
    _, _, run = made
    edges = run.report["edges"]
    assert edges["least_radius_mm"] > 1.0 and "openings" in edges["least_radius_covers"]
    assert len(edges["bores"]) >= 1 and edges["bores"][0].startswith("mount: ") and "fit of 0.3 mm" in edges["joint"]
    assert run.report["joint"] == {"pins": 0, "keys": 0}


def test_halves_are_closed_single_bodies_with_whole_holes(made: tuple[Path, Path, JobRun]) -> None:
    sheet, out, run = made
    job = read_job_sheet(sheet)
    holes = 0
    for mesh, piece in zip(pieces(out, run.report), run.report["halves"], strict=True):
        assert mesh.is_watertight and mesh.is_winding_consistent and piece["closed"]
        assert_allclose(mesh.volume, piece["volume_mm3"], rtol=1e-5)
        assert_allclose(mesh.extents, piece["size_mm"], atol=0.01)
        body = manifold3d.Manifold(manifold3d.Mesh(mesh.vertices.astype(np.float32), mesh.faces.astype(np.uint32)))
        assert body.status() == manifold3d.Error.NoError
        assert len(body.decompose()) == 1
        assert not len(crossing_pairs(TriangleMesh(mesh.vertices, mesh.faces)))
        holes += body.genus()
    clamped_by_both = len(job.mount.bolts) if job.split.joint == "full_lap" else 0
    openings = sum(2 if opening.sides == "both" else 1 for opening in job.openings)
    further = sum(len(seat.bolts) * (2 if seat.sides == "both" else 1) for seat in job.seats)
    assert holes == len(job.mount.bolts) + clamped_by_both + openings + further


def test_the_seat_lies_on_the_mount_plane(made: tuple[Path, Path, JobRun]) -> None:
    sheet, out, run = made
    job = read_job_sheet(sheet)
    frame = mount_frame(job)
    uv, height = frame.to_plane(np.concatenate([mesh.vertices for mesh in pieces(out, run.report)]))
    near = (frame.outline_distance(uv) < -0.5) & (np.abs(height) < 1.0)  # the step of a lap is deeper
    assert near.sum() > 50
    assert_allclose(height[near], 0.0, atol=1e-3)


def test_further_seats_lie_on_their_planes_and_clear_of_their_brackets(made: tuple[Path, Path, JobRun]) -> None:
    """By the sheet's own center and normal, within 9 mm of the center (pad 11 about bolts 11 off it), on the written triangles."""
    sheet, out, run = made
    job = read_job_sheet(sheet)
    points = np.concatenate([mesh.vertices for mesh in pieces(out, run.report)])
    limits = {limit["name"]: limit["min_mm"] for limit in run.report["clearance"]["limits"]}
    for seat in job.seats:
        normal = np.array(seat.normal) / np.linalg.norm(seat.normal)
        for mirror, which in ((np.ones(3), ""), (np.array([-1.0, 1.0, 1.0]), ", mirrored")):
            off = (points - mirror * seat.center) @ (mirror * normal)
            near = (np.linalg.norm(points - mirror * seat.center, axis=1) < 9.0) & (np.abs(off) < 1.0)
            assert near.sum() > 20
            assert_allclose(off[near], 0.0, atol=1e-3)
            # the keep-out stands off the plane by the chord error of 0.02 mm
            assert_allclose(limits[f'bracket of the seat "{seat.name}"{which}'], 0.01, atol=0.0101)
    assert bool(job.seats) == (sheet.stem == "front_ears")


def test_a_sheet_without_room_writes_nothing(tmp_path: Path) -> None:
    with pytest.raises(JobError, match=r"mount.height: 24 leaves .* are missing; the room goes to .*gap"):
        run_job(DEMO / "no_room.toml", tmp_path / "out", lambda _: None, save_scene)
    assert not (tmp_path / "out").exists()


def test_a_write_that_fails_midway_leaves_the_former_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "report.json").write_text("former")
    (tmp_path / "fender_front.stl").write_bytes(b"former")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(job_pictures, "render_clearance", full)
    with pytest.raises(OSError, match="No space left"):
        run_job(DEMO / "front_17.toml", tmp_path, lambda _: None, save_scene)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {
        "report.json": b"former",
        "fender_front.stl": b"former",
    }


def test_steps_are_told_and_timed(made: tuple[Path, Path, JobRun]) -> None:
    _, _, run = made
    seconds = run.report["timings_s"]
    to_halves = {"sheet", "seed", "skin", "solid", "proof", "bed", "files"} | ({"flex", "laminate", "metal"} & seconds.keys())
    assert seconds["sheet_to_halves"] == pytest.approx(sum(seconds[step] for step in to_halves), abs=0.01)
    assert {"gauges", "picture"} <= seconds.keys()
    assert any("can lock it" in line for line in run.summary)
