# SPDX-License-Identifier: GPL-3.0-or-later
"""The laminate of the demo sheets through the whole pipeline: solids closed, on the part, split to the bed; the report recomputed."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import bpy
import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.clearance.clearance_field import clearance_field
from addon.core.laminate.laminated_part import part_schedule
from addon.core.laminate.mold_drafts import mold_drafts
from addon.core.laminate.mold_shape import mold_shells, part_shrink, touched_face
from addon.core.laminate.work_order import work_order
from addon.core.mesh.open_surface import surface_of_quads
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.host.part_objects import parts_are_shown
from addon.output.laminate_files import write_laminate
from addon.pipeline.job_result import JobResult, Timings, make_job
from addon.pipeline.laminate_solids import laminate_solid_steps
from addon.pipeline.laminated import opening_remarks, refuse_unclear_laminate
from addon.pipeline.steps import run_steps
from addon.ui.state.scene_settings import settings_of
from tests.core.laminate.scenes import job_of, scene
from tests.core.shaping.test_open_draft import sheet, tucked
from tests.crossing_pairs import crossing_pairs
from tests.host.extension_scene import extension, seeded, state

Made = tuple[JobResult, Path, dict[str, Any]]


def silent(_: str) -> None:
    """Progress of a job in a test."""


def made_of(name: str, folder: Path, **laminate: object) -> Made:
    job = job_of(name, **laminate)
    result = make_job(job, seed_cage(job).cage, Timings(silent))
    assert result.laminated is not None and job.laminate is not None
    return result, folder, write_laminate(job, job.laminate, result.laminated, folder, "2026-01-01")


@pytest.fixture(scope="module", params=["front_mold", "rear_buck"])
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Made:
    return made_of(request.param, tmp_path_factory.mktemp(request.param) / "laminate")


def solids(found: Made) -> list[trimesh.Trimesh]:
    return [trimesh.load_mesh(found[1].parent / piece["file"]) for piece in found[2]["pieces"]]


def test_pieces_are_closed_off_themselves_and_fit_the_bed(made: Made) -> None:
    result, folder, report = made
    assert {path.name for path in folder.iterdir()} >= {"part.stl", *(Path(piece["file"]).name for piece in report["pieces"])}
    assert len(report["pieces"]) > 1
    for solid, mesh, piece in zip(result.laminated.solids, solids(made), report["pieces"], strict=True):  # type: ignore[union-attr]
        assert mesh.is_watertight and mesh.is_winding_consistent and piece["closed"] and piece["fits_bed"]
        assert mesh.body_count == 1
        assert_allclose(mesh.volume, piece["volume_mm3"], rtol=1e-5)
        assert len(crossing_pairs(solid.part.mesh)) == 0


def test_part_lies_on_plug_or_buck(made: Made) -> None:
    """Signed distance by trimesh: the touching face of the part lies on the pieces, larger by what the part shrinks."""
    result, _, report = made
    job, laminated = result.job, result.laminated
    assert laminated is not None and job.laminate is not None
    about = laminated.part.seats[0].origin
    wall = laminated.part.wall
    face = wall.outer if job.laminate.route == "mold" else wall.inner
    points = about + (face[::199] - about) / (1.0 - report["shrink"])
    least = np.min([trimesh.proximity.closest_point(mesh, points)[1] for mesh in solids(made)], axis=0)
    assert np.percentile(least, 98) < 1e-3  # but where the drill is marked
    assert least.max() < 1.3


def test_final_clearance_is_that_of_the_part(made: Made) -> None:
    """Brute force on the written triangles against the tire at its largest."""
    result, folder, report = made
    body = clearance_field(result.job, "part").limits[0]
    mesh = trimesh.load_mesh(folder / "part.stl")
    samples = np.concatenate([mesh.vertices, trimesh.sample.sample_surface(mesh, 40_000, seed=1)[0]])
    least = float(body.body.distance(samples).min())
    clear = report["final_clearance"]
    assert clear["required_mm"] == round(body.required_mm, 4)
    assert clear["proven_min_mm"] - 1e-3 <= least <= clear["min_mm"] + 0.02
    assert clear["min_mm"] > clear["required_mm"]


def test_report_holds_what_is_asked_for(made: Made) -> None:
    _, _, report = made
    json.dumps(report)
    assert {
        "route",
        "thickness_mm",
        "mass_g",
        "plies",
        "resin_g",
        "hardener_g",
        "gel_coat_g",
        "waste",
        "final_clearance",
        "draft",
    } <= set(report)
    assert {"name", "area_cm2", "glass_g", "resin_g", "thickness_mm", "fiber_volume"} <= set(report["plies"][0])
    assert {"pull", "least_deg", "undercut_cm2"} <= set(report["draft"])
    for ply in report["plies"]:
        areal = float(ply["name"].split()[-1])
        assert_allclose(ply["glass_g"], areal * ply["area_cm2"] / 1e4, atol=0.01)
    assert_allclose(np.linalg.norm(report["draft"]["pull"]), 1.0, atol=1e-4)


def test_narrow_flange_has_no_bolts_and_says_so() -> None:
    found = scene("front_mold", 3)
    assert found.job.laminate is not None
    laminate = replace(found.job.laminate, flange=15.0)
    face = touched_face(found.wall, laminate)
    shells = mold_shells(face, laminate, mold_drafts(face, laminate)[0].draft.pull, 3.0)
    made = run_steps(laminate_solid_steps(found.job, laminate, shells, found.seats))
    assert all(solid.part.mesh.genus == 0 for solid in made.pieces)
    assert "too narrow for bolts and keys" in made.remarks[0] and "24 mm" in made.remarks[0]


def test_least_opening_is_told_where_the_mold_is_held() -> None:
    cage, stencil, _ = tucked()
    job = sheet()
    assert job.laminate is not None
    whole = full_skin(skin(cage, stencil))
    face = surface_of_quads(whole.points, whole.normals, whole.quads)
    drafts = mold_drafts(face, replace(job.laminate, pull=(0.0, 0.0, 1.0)))
    (told,) = opening_remarks(job, drafts, cage, None)
    assert told.startswith("Open Draft in the panel would give the sides 2.") and "keeps the clearance" in told
    plain = mold_drafts(face, replace(job.laminate, pull=(0.0, 0.0, 1.0)))[0].draft
    assert plain.undercut > 0.0
    assert not list(
        opening_remarks(job, mold_drafts(touched_face(scene("front_mold", 3).wall, job.laminate), job.laminate), cage, None)
    )


def test_patterns_of_the_plies_are_written_at_full_size(made: Made) -> None:
    """Perimeters read back from the SVG, whose unit is the millimeter, against the gores."""
    result, folder, report = made
    assert result.laminated is not None and result.laminated.patterns is not None
    patterns = report["patterns"]
    assert 0.0 < patterns["strain"] <= patterns["strain_allowed"]
    assert {path.name for path in folder.iterdir()} >= {"plies.svg", "plies_A4.pdf", "plies_Letter.pdf"}
    root = ElementTree.parse(folder / "plies.svg").getroot()
    assert root.get("width", "").endswith("mm") and root.get("viewBox", "").split()[2] == root.get("width", "")[:-2]
    groups = [group for group in root if group.tag.endswith("}g")]
    gores = [gore for each in result.laminated.patterns.sets for gore in each.gores]
    assert len(groups) == len(gores)
    for group, gore in zip(groups, gores, strict=True):
        (cut,) = [path for path in group if path.get("class") == "cut"]
        points = np.array([float(word) for word in cut.get("d", "").split(" Z")[0].split() if word not in "ML"]).reshape(-1, 2)
        length = np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1).sum()
        assert_allclose(length, np.linalg.norm(np.diff(gore.outlines[0], axis=0), axis=1).sum(), rtol=1e-3)


def test_laminate_too_near_to_the_tire_is_refused(made: Made) -> None:
    result, _, report = made
    laminated = result.laminated
    assert laminated is not None
    refuse_unclear_laminate(result.job, laminated.part.limits)
    least = report["final_clearance"]["min_mm"]
    asked = [replace(limit, required_mm=least + 0.1) if limit is laminated.tire else limit for limit in laminated.part.limits]
    with pytest.raises(
        JobError, match=r"laminate\.plies: make a part of \d\.\d+ mm that comes within .* of the tire at station"
    ) as caught:
        refuse_unclear_laminate(result.job, asked)
    assert caught.value.place is not None


def test_panel_tells_of_the_plies_and_of_the_built_part() -> None:
    with extension() as troubles:
        seeded("front_mold", level=3)
        settings = settings_of(bpy.context.scene)
        assert settings.use_laminate and [ply.value for ply in settings.laminate.plies] == ["CSM 300", "CSM 450", "CSM 450"]
        before = dict(state().laminate_rows)
        assert before["Thickness"] == "3.47 mm" and "Weight of a Square Meter" in before
        settings.laminate.plies[0].value = "CSM 450"
        assert dict(state().laminate_rows)["Thickness"] == "3.84 mm"
        settings.laminate.resin = "epoxy"
        assert state().problem.startswith("laminate.plies[0]") and not state().laminate_rows
    assert not troubles


def test_draft_is_shown_and_taken_away() -> None:
    with extension() as troubles:
        seeded("front_mold", level=3)
        assert not bpy.ops.fenderwright.show_draft.poll()
        assert bpy.ops.fenderwright.build_solid() == {"FINISHED"}
        rows = dict(state().laminate_rows)
        assert float(rows["Weight"].split()[0]) > 300.0 and rows["Undercut"] == "0.0 cm2"
        assert bpy.ops.fenderwright.show_draft() == {"FINISHED"}
        (shown,) = [ob for ob in bpy.context.scene.objects if ob.get("fenderwright") == "draft map"]
        values = np.empty(len(shown.data.vertices), np.float32)
        shown.data.attributes["draft"].data.foreach_get("value", values)
        least = float(rows["Least Draft"].split()[0])
        assert abs(values.min() - least) < 1.0
        assert next(child.name for child in shown.children).startswith(f"Least Draft {least:.1f}")
        assert state().map_shown == "draft" and state().map_legend[0].text == "under 2.0 deg"
        bpy.ops.fenderwright.show_wall()
        assert state().map_shown == "wall"
        assert not [ob for ob in bpy.context.scene.objects if ob.get("fenderwright") == "draft map"]
        bpy.ops.fenderwright.show_draft()
        assert bpy.ops.fenderwright.show_draft() == {"FINISHED"}
        assert state().map_shown == "" and parts_are_shown(bpy.context.scene)
    assert not troubles


def test_mold_in_two_pieces_gets_a_parting_board_and_a_printed_mold_its_hollows() -> None:
    found = scene("front_mold", 3)
    assert found.job.laminate is not None
    volumes: dict[str, dict[str, float]] = {}
    for kind, changes in {"two": {"pieces": 2}, "printed": {"printed_mold": "yes"}}.items():
        laminate = replace(found.job.laminate, **changes)  # type: ignore[arg-type]
        face = touched_face(found.wall, laminate)
        shells = mold_shells(face, laminate, mold_drafts(face, laminate)[0].draft.pull, 3.0)
        made = run_steps(laminate_solid_steps(found.job, laminate, shells, found.seats))
        assert not made.remarks
        volumes[kind] = {}
        for solid in made.pieces:
            assert solid.part.mesh.is_closed and solid.part.mesh.part_count == 1 and solid.fit.fits
            volumes[kind][solid.body] = volumes[kind].get(solid.body, 0.0) + solid.part.mesh.volume
        if kind == "printed":
            plain = next(shell for shell in shells if shell.name == "mold").shell.mesh.volume / (1.0 - part_shrink(laminate)) ** 3
            assert 0.97 * plain < volumes[kind]["mold"] < plain  # less by bolts and hollows
    assert set(volumes["two"]) == {"plug", "parting_board"}
    assert set(volumes["printed"]) == {"plug", "mold"}
    assert any(
        "parting board" in step
        for step in work_order(replace(found.job.laminate, pieces=2), part_schedule(found.job.laminate, found.wall), "PETG")
    )
