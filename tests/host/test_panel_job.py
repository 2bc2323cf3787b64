# SPDX-License-Identifier: GPL-3.0-or-later
"""The whole job through properties and operators, as the panel's buttons use them."""

import json
from itertools import islice
from pathlib import Path

import bpy
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy.spatial import KDTree

import addon
from addon.core.job.job_sheet import read_job_sheet
from addon.core.shaping.seed import seed_cage
from addon.host.cage.cage_mesh import read_points, write_points
from addon.host.pictures import job_pictures
from addon.host.pictures.job_pictures import draw_pictures
from addon.output import job_files
from addon.pipeline.job_result import Timings, make_job
from addon.ui.state.job_values import read_job, write_job
from addon.ui.state.scene_settings import settings_of
from tests.host.extension_scene import DEMO, cage, check, room, seeded, state

pytestmark = pytest.mark.usefixtures("troubles")


def settings() -> object:
    return settings_of(bpy.context.scene)


def refusal(operator: str, **properties: object) -> str:
    """The sentence with which an operator refuses."""
    with pytest.raises(RuntimeError) as caught:
        getattr(bpy.ops.fenderwright, operator)("EXEC_DEFAULT", True, **properties)
    return str(caught.value)


def type_in_values() -> None:
    job = settings()
    job.tire.size = "130/70-17"
    job.mount.height = 46.0
    for x, ahead in ((22, 28), (-22, 28), (22, -28), (-22, -28)):
        assert bpy.ops.fenderwright.add_entry(section="mount", list_name="bolts") == {"FINISHED"}
        job.mount.bolts[-1].value = (x, ahead)
    job.mount.thread = "M6"
    job.clearance.gap = 10.0
    job.wall.thickness = 3.0
    job.cage.use_half_width, job.cage.half_width = True, 82.0


@pytest.mark.parametrize("sheet", ["front_17", "front_21", "rear_17"])
def test_sheets_go_through_the_properties_unchanged(sheet: str, tmp_path: Path) -> None:
    job = read_job_sheet(DEMO / f"{sheet}.toml")
    write_job(settings(), job)
    assert read_job(settings()) == job
    assert bpy.ops.fenderwright.save_sheet(filepath=str(tmp_path / "saved.toml")) == {"FINISHED"}
    assert read_job_sheet(tmp_path / "saved.toml") == job


def test_what_is_missing_is_named_one_by_one() -> None:
    named = []
    job = settings()
    steps = (
        lambda: setattr(job.tire, "size", "120/70-17"),
        lambda: setattr(job.mount, "height", 45.0),
        lambda: setattr(
            bpy.ops.fenderwright.add_entry(section="mount", list_name="bolts") and job.mount.bolts[0], "value", (0, 0)
        ),
        lambda: setattr(job.clearance, "gap", 10.0),
        lambda: setattr(job.wall, "thickness", 3.0),
        lambda: setattr(job.split, "plane", "none"),
    )
    for step in steps:
        named.append(state().problem.split(":")[0])
        step()
    assert named == ["tire.size", "mount.height", "mount.bolts", "clearance.gap", "wall.thickness", "split.joint"]
    assert state().problem == ""


def test_the_job_without_a_file(tmp_path: Path) -> None:
    type_in_values()
    assert state().problem == ""
    assert bpy.ops.fenderwright.seed_cage("EXEC_DEFAULT", True) == {"FINISHED"}
    assert room() > -0.001
    assert bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True) == {"FINISHED"}
    names = {ob.name for ob in bpy.data.collections["Fender Parts"].objects if not ob.name.startswith("Dowel Pin")}
    assert names == {"Fender Front", "Fender Rear", "Fender Rear 2"}, "the tail of the default fender is cut again for the bed"
    assert bpy.ops.fenderwright.write_halves("EXEC_DEFAULT", True, directory=str(tmp_path)) == {"FINISHED"}
    report = json.loads((tmp_path / "report.json").read_text())
    assert report["clearance"]["proven_min_mm"] >= report["clearance"]["required_mm"]
    assert {piece["file"] for piece in report["halves"]} <= {path.name for path in tmp_path.iterdir()}


def test_clearance_is_restored_after_a_bad_edit() -> None:
    ob = seeded()
    settings().hold = "WARN"
    for vertex in ob.data.vertices:
        vertex.co.z -= 40.0 if vertex.co.y < -80.0 else 0.0
    bpy.context.view_layer.update()
    assert room() < -5.0
    assert not state().shaped.clear
    assert "required" in refusal("build_solid") or "off the mount plane" in refusal("build_solid")
    assert bpy.ops.fenderwright.restore_clearance("EXEC_DEFAULT", True) == {"FINISHED"}
    assert room() > -0.002


def test_values_and_hold_survive_save_and_reopen(tmp_path: Path) -> None:
    seeded()
    job = read_job(settings())
    path = str(tmp_path / "kept.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    assert cage() is None
    bpy.ops.wm.open_mainfile(filepath=path)
    assert read_job(settings()) == job
    assert state().shaped is not None and state().shaped.clear
    for vertex in cage().data.vertices:
        vertex.co.z -= 60.0
    cage().data.update_tag()
    bpy.context.view_layer.update()
    bpy.context.view_layer.update()
    assert room() > -0.002


def test_wrong_inputs_are_one_sentence_and_change_nothing(tmp_path: Path) -> None:
    seeded()
    before = read_job(settings())
    broken = tmp_path / "broken.toml"
    broken.write_text("[tire]\nsize = \n")
    assert "broken.toml: is not a complete TOML file" in refusal("load_sheet", filepath=str(broken))
    assert "nothing.toml: cannot be read" in refusal("load_sheet", filepath=str(tmp_path / "nothing.toml"))
    assert read_job(settings()) == before
    assert "Folder: is empty" in refusal("write_halves")
    assert "is not a list" in refusal("add_entry", section="tire", list_name="size")
    settings().mount.height = 20.0
    assert "mount.height: 20 leaves" in state().problem
    assert "mount.height: 20 leaves" in refusal("seed_cage")
    assert "mount.height: 20 leaves" in refusal("write_halves", directory=str(tmp_path / "out"))
    assert not (tmp_path / "out").exists()
    settings().mount.height = before.mount.height
    assert state().problem == ""


def test_without_a_cage_the_buttons_say_so() -> None:
    assert not bpy.ops.fenderwright.build_solid.poll()
    assert not bpy.ops.fenderwright.restore_clearance.poll()


def test_taken_out_and_put_back_in_the_middle() -> None:
    ob = seeded()
    job = read_job(settings())
    addon.unregister()
    for vertex in ob.data.vertices:
        vertex.co.z -= 30.0
    addon.register()
    assert read_job(settings()) == job
    ob.data.update_tag()
    bpy.context.view_layer.update()
    bpy.context.view_layer.update()
    assert room() > -0.002


def test_the_map_is_kept_as_a_mesh() -> None:
    seeded()
    assert bpy.ops.fenderwright.bake_map("EXEC_DEFAULT", True) == {"FINISHED"}
    mesh = bpy.data.objects["Clearance Map"].data
    values = [value.value for value in mesh.attributes["clearance"].data]
    least = state().shaped.worst.excess_mm + state().facts.budget.required_mm
    assert abs(min(values) - least) < 0.01
    assert mesh.color_attributes[0].name == "Clearance Map"
    assert bpy.ops.fenderwright.bake_map("EXEC_DEFAULT", True) == {"FINISHED"}
    assert sum(ob.get("fenderwright") == "map" for ob in bpy.data.objects) == 1


def test_a_full_cage_is_made_half_again(capfd: pytest.CaptureFixture[str]) -> None:
    ob = seeded()
    bpy.context.view_layer.objects.active = ob
    half = read_points(ob)
    bpy.ops.object.modifier_apply(modifier=ob.modifiers[0].name)
    points = read_points(ob)
    assert len(points) > len(half)
    right = np.flatnonzero(points[:, 0] < -1.0)
    points[right[0]] += [0.0, 2.0, 0.0]
    points[right[-1]] += [0.0, 0.0, 60.0]
    write_points(ob, points)
    bpy.context.view_layer.update()
    assert "has no Mirror modifier" in state().problems[0].sentence
    capfd.readouterr()
    assert bpy.ops.fenderwright.make_half("EXEC_DEFAULT", True) == {"FINISHED"}
    assert "partners of the two sides differed by up to 2.00 mm, 2 points had none" in capfd.readouterr().out
    assert cage() != ob and ob.hide_viewport
    assert_allclose(KDTree(half).query(read_points(cage()))[0], 0.0, atol=1e-4)
    assert_array_equal(read_points(ob), points)
    check("made half")
    assert bpy.ops.fenderwright.make_half("EXEC_DEFAULT", True) == {"FINISHED"}
    assert "is a half already" in capfd.readouterr().out


def folder_content(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_write_that_fails_midway_leaves_the_former_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seeded(level=3)
    former = {"report.json": b"{}", "fender_front.stl": b"former", "notes.txt": b"mine"}
    for name, content in former.items():
        (tmp_path / name).write_bytes(content)

    def full_disk(*_: object) -> None:
        raise OSError(28, "No space left on device", "clearance.png")

    monkeypatch.setattr(job_pictures, "render_clearance", full_disk)
    assert "No space left on device" in refusal("write_halves", directory=str(tmp_path))
    assert folder_content(tmp_path) == former
    assert "Fender Parts" not in bpy.data.collections


def test_files_given_up_at_any_step_leave_no_trace(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = read_job_sheet(DEMO / "front_17.toml")
    result = make_job(job, seed_cage(job).cage, Timings(lambda _: None))
    for module, name in (  # they take seconds
        (job_files, "_write_gauges"),
        (job_pictures, "render_clearance"),
        (job_pictures, "render_parts"),
        (job_files, "build_sheet_steps"),
    ):
        monkeypatch.setattr(module, name, lambda *_: ())
    out = tmp_path / "deep" / "out"
    given_up = 0
    for number in range(1, 20):
        steps = job_files.file_steps(result, out, Timings(lambda _: None), draw_pictures)
        if sum(1 for _ in islice(steps, number)) < number:
            break
        assert out.exists()
        steps.close()
        given_up += 1
        assert list(tmp_path.iterdir()) == []
    assert given_up >= 4 and (out / "report.json").exists()
