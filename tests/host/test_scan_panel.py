# SPDX-License-Identifier: GPL-3.0-or-later
"""A scan through properties and operators, as the panel's buttons use them: imported, marked, aligned, taken back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bmesh
import bpy
import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from addon.core.scan.data.hints import REGIONS
from addon.host.scan_object import REGION, RESIDUAL_LAYER, region_masks, shown_matrix
from addon.ui.scan.scan_panel import FENDERWRIGHT_PT_scan
from addon.ui.scan.scan_properties import scan_settings
from addon.ui.scan.scan_report import kept_report
from addon.ui.state.job_values import missing_values, read_job, write_job_data
from addon.ui.state.scene_settings import settings_of
from tests.core.scan.scan_scenes import HALF_HEIGHT, RADIUS, WIDTH, Plate, Pose, disturbed, front_end
from tests.host.extension_scene import DEMO, cage, room, state
from tests.host.scan_files import point_file, scan_points

PLATE = Plate()


pytestmark = pytest.mark.usefixtures("troubles")


def job() -> Any:
    return settings_of(bpy.context.scene)


def scan() -> Any:
    return scan_settings(bpy.context.scene).scan_object


def do(operator: str, **properties: object) -> None:
    assert getattr(bpy.ops.fenderwright, operator)("EXEC_DEFAULT", True, **properties) == {"FINISHED"}


def refusal(operator: str, **properties: object) -> str:
    with pytest.raises(RuntimeError) as caught:
        getattr(bpy.ops.fenderwright, operator)("EXEC_DEFAULT", True, **properties)
    return str(caught.value)


def world_points(ob: Any) -> np.ndarray:
    flat = np.zeros(3 * len(ob.data.vertices), np.float32)
    ob.data.attributes["position"].data.foreach_get("vector", flat)
    matrix = shown_matrix(ob)
    return flat.reshape(-1, 3).astype(np.float64) @ matrix[:3, :3].T + matrix[:3, 3]


def type_what_no_scan_tells() -> None:
    job().tire.size = "120/70-17"
    job().clearance.gap = 10.0
    job().wall.thickness = 3.0
    job().split.plane = "none"


@pytest.mark.parametrize("unit", ["mm", "cm", "m", "in"])
def test_import_shows_the_file_where_it_has_it_in_mm(unit: str, tmp_path: Path) -> None:
    made = trimesh.creation.torus(300, 60, major_sections=48, minor_sections=24)
    made.apply_translation([20_000.0, -4000.0, 700.0])
    factor = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}[unit]
    made.apply_scale(1.0 / factor)
    (tmp_path / "ring.stl").write_bytes(made.export(file_type="stl"))
    do("import_scan", filepath=str(tmp_path / "ring.stl"), unit=unit)
    bpy.context.view_layer.update()
    assert len(scan().data.polygons) == len(made.faces)
    # the file's own 32 bits at 20 m: 0.001 mm
    assert_allclose(np.sort(world_points(scan()), axis=0), np.sort(factor * made.vertices, axis=0), atol=0.004)
    assert bpy.context.scene.unit_settings.scale_length == pytest.approx(0.001)


def test_bare_points_are_bare_vertices_and_undo_takes_them_away(tmp_path: Path) -> None:
    points, _ = scan_points()
    bpy.ops.ed.undo_push()
    do("import_scan", filepath=str(point_file(tmp_path, points)))
    assert len(scan().data.vertices) == len(points) and not len(scan().data.edges)
    bpy.ops.ed.undo()
    assert scan() is None and "bike" not in bpy.data.objects


def test_from_a_random_pose_to_a_seeded_cage_without_a_mark(tmp_path: Path) -> None:
    """Import, align, seed: the mount is found too. The sheet gets the known answers of the made-up front end."""
    points, pose = scan_points()
    type_what_no_scan_tells()
    do("import_scan", filepath=str(point_file(tmp_path, points)))
    do("align_scan")
    assert missing_values(job()) == ()
    filled = read_job(job())
    assert_allclose(filled.tire.measured_radius, RADIUS, atol=0.1)
    assert_allclose(filled.tire.measured_width, WIDTH, atol=0.1)
    assert_allclose(filled.mount.height, PLATE.height, atol=0.1)
    assert filled.mount.thread == "M6" and len(filled.mount.bolts) == 4
    assert 0.0 < filled.tire.sigma < 0.1
    doubt = next(line for line in state().facts.budget.lines if "uncertain" in line.name)
    assert doubt.mm == pytest.approx(filled.clearance.coverage_factor * filled.tire.sigma, rel=1e-3)
    axle = shown_matrix(scan()) @ np.append(pose.shift - np.array(matrix_start(points)), 1.0)
    assert_allclose(axle[:3], 0.0, atol=0.3)
    assert_allclose(np.abs((shown_matrix(scan())[:3, :3] @ pose.rotation[:, 0])[0]), 1.0, atol=1e-3)
    do("seed_cage")
    assert cage() is not None and room() > -0.002


def matrix_start(points: np.ndarray) -> np.ndarray:
    """Where the object stands after import: the middle of the scan, in whole mm."""
    low, high = np.percentile(points[:: max(len(points) // 100_000, 1)].astype(np.float32), [2.0, 98.0], axis=0)
    return np.round(0.5 * (low + high))


def check_residual_colors(points: np.ndarray, pose: Pose, range_mm: float) -> None:
    """Red outside, blue inside of the section's closed form, gray off the tire; the range is four standard deviations of the
    noise of 0.05 mm, rounded up."""
    assert range_mm == 0.2
    colors = np.zeros(4 * len(points), np.float32)
    scan().data.color_attributes[RESIDUAL_LAYER].data.foreach_get("color_srgb", colors)
    colors = colors.reshape(-1, 4)
    wheel = (points - pose.shift) @ pose.rotation
    crown = np.abs(wheel[:, 0]) < 20.0
    height = RADIUS - HALF_HEIGHT * (1.0 - np.sqrt(1.0 - (np.clip(wheel[:, 0], -20, 20) / (0.5 * WIDTH)) ** 2))
    off = np.hypot(wheel[:, 1], wheel[:, 2]) - height
    out, within = crown & (off > 0.08) & (off < 0.3), crown & (off < -0.08) & (off > -0.3)
    assert np.count_nonzero(out) > 300 and np.count_nonzero(within) > 300
    assert (colors[out, 0] > colors[out, 2]).mean() > 0.98
    assert (colors[within, 2] > colors[within, 0]).mean() > 0.98
    on_plate = np.linalg.norm(wheel - PLATE.origin, axis=1) < 40.0
    assert_allclose(np.median(colors[on_plate, :3], axis=0), 0.42, atol=0.01)


def test_undo_and_return_bring_the_scan_back(tmp_path: Path) -> None:
    points, pose = scan_points()
    do("import_scan", filepath=str(point_file(tmp_path, points)))
    bpy.context.view_layer.update()
    bpy.ops.ed.undo_push()
    before, sheet = shown_matrix(scan()), job().tire.measured_radius
    do("align_scan")
    aligned = shown_matrix(scan())
    assert np.abs(aligned - before).max() > 0.1
    report = kept_report(scan())
    assert report is not None and dict(report.rows)["Thread"].startswith("M6, ")
    assert any("\u00b1" in value for _, value in report.rows)
    assert any("was not marked" in warning for warning in report.warnings)
    check_residual_colors(points, pose, report.range_mm)
    bpy.ops.ed.undo()
    bpy.context.view_layer.update()
    assert_allclose(shown_matrix(scan()), before, atol=1e-6)
    assert job().tire.measured_radius == sheet and kept_report(scan()) is None
    assert not bpy.ops.fenderwright.return_scan.poll()
    bpy.ops.ed.redo()
    assert_allclose(shown_matrix(scan()), aligned, atol=1e-6)
    do("return_scan")
    bpy.context.view_layer.update()
    assert_allclose(shown_matrix(scan()), before, atol=1e-6)
    assert job().tire.measured_radius == pytest.approx(RADIUS, abs=0.1)


def test_aligning_again_changes_nothing_and_swapping_turns_it_about_z(tmp_path: Path) -> None:
    points, _ = scan_points()
    do("import_scan", filepath=str(point_file(tmp_path, points)))
    do("align_scan")
    once, ahead = shown_matrix(scan()), job().mount.ahead
    do("align_scan")
    assert_allclose(shown_matrix(scan()), once, atol=1e-5)
    do("turn_scan")
    assert_allclose(shown_matrix(scan())[:3], np.diag([-1.0, -1.0, 1.0]) @ once[:3], atol=2e-4)
    assert job().mount.ahead == pytest.approx(-ahead, abs=0.01)


def test_stated_directions_are_kept(tmp_path: Path) -> None:
    """A scan that stands upright and looks along +X of the scene: ahead and tilt of the plate come out with their signs."""
    rng = np.random.default_rng(3)
    wheel = disturbed(rng, front_end(rng, 100_000, 220.0), 0.05, 0.02)
    turned = np.column_stack([-wheel[:, 1], wheel[:, 0], wheel[:, 2]]) + [100.0, 50.0, 300.0]  # -Y to +X
    do("import_scan", filepath=str(point_file(tmp_path, turned)))
    scan_settings(bpy.context.scene).up, scan_settings(bpy.context.scene).forward = "+Z", "+X"
    do("align_scan")
    assert job().mount.ahead == pytest.approx(PLATE.ahead, abs=0.2)
    assert job().mount.tilt == pytest.approx(PLATE.tilt_deg, abs=0.1)
    assert_allclose(shown_matrix(scan())[:3, :3], [[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]], atol=1e-3)


def select(near: np.ndarray) -> None:
    edited = bmesh.from_edit_mesh(scan().data)
    for vert, wanted in zip(edited.verts, near, strict=True):
        vert.select = bool(wanted)
    bmesh.update_edit_mesh(scan().data)


def test_regions_marked_in_edit_mode_lead_and_undo_takes_the_mark_back(tmp_path: Path) -> None:
    points, pose = scan_points()
    wheel = (points - pose.shift) @ pose.rotation
    on_plate = np.linalg.norm(wheel - PLATE.origin, axis=1) < 45.0
    on_tire = (
        (np.hypot(wheel[:, 1], wheel[:, 2]) > 285.0) & (np.hypot(wheel[:, 1], wheel[:, 2]) < 301.0) & (np.abs(wheel[:, 0]) < 50.0)
    )
    behind = wheel[:, 1] > 45.0
    behind &= (np.abs(wheel[:, 0]) > 75.0) & (wheel[:, 2] > 350.0)
    do("import_scan", filepath=str(point_file(tmp_path, points)))
    assert not bpy.ops.fenderwright.mark_region.poll()
    bpy.ops.object.mode_set(mode="EDIT")
    assert not bpy.ops.fenderwright.align_scan.poll()
    select(np.zeros(len(points), bool))
    assert "No point" in refusal("mark_region", region="tire")
    for region, mask in (("tire", on_tire), ("mount", on_plate), ("chassis", behind)):
        select(mask)
        bpy.ops.ed.undo_push()
        do("mark_region", region=region)
    bpy.ops.ed.undo()
    bpy.ops.ed.redo()
    bpy.ops.object.mode_set(mode="OBJECT")
    masks = region_masks(scan().data)
    assert {name: int(mask.sum()) for name, mask in masks.items()} == {
        "tire": int(on_tire.sum()), "mount": int(on_plate.sum()), "chassis": int(behind.sum()),
    }  # fmt: skip
    shown = scan().data.color_attributes.active_color
    assert shown.name == "Region"
    assert_allclose(shown.data[int(np.argmax(on_tire))].color_srgb[:3], (0.0, 0.447, 0.698), atol=0.005)
    type_what_no_scan_tells()
    do("align_scan")
    assert scan().data.color_attributes.active_color.name == RESIDUAL_LAYER
    report = kept_report(scan())
    assert report is not None and not any(
        "was not marked" in warning or "Forward is not known" in warning for warning in report.warnings
    )
    assert job().mount.height == pytest.approx(PLATE.height, abs=0.1)


def test_regions_painted_as_a_vertex_group(tmp_path: Path) -> None:
    points, pose = scan_points()
    do("import_scan", filepath=str(point_file(tmp_path, points)))
    wheel = (points - pose.shift) @ pose.rotation
    near = np.flatnonzero(np.linalg.norm(wheel - PLATE.origin, axis=1) < 45.0)
    group = scan().vertex_groups.new(name="plate")
    group.add(near.tolist(), 1.0, "REPLACE")
    do("mark_region", region="mount")
    assert int(region_masks(scan().data)["mount"].sum()) == len(near)
    do("unmark_region")
    assert region_masks(scan().data) == {}
    values = {entry.value for entry in scan().data.attributes[REGION].data}
    assert values == {0} and REGIONS.index("mount") == 1


def test_a_wrong_unit_is_named_and_changes_nothing(tmp_path: Path) -> None:
    points, _ = scan_points()
    do("import_scan", filepath=str(point_file(tmp_path, points / 1000.0)))
    bpy.context.view_layer.update()
    before = shown_matrix(scan())
    assert "if the scan were in m. Import it again with its unit" in refusal("align_scan")
    assert_allclose(shown_matrix(scan()), before)
    assert not job().tire.use_measured_radius and kept_report(scan()) is None


def test_what_is_no_wheel_is_refused_and_changes_nothing(tmp_path: Path) -> None:
    write_job_data(job(), {"name": "kept", "tire": {"size": "120/70-17"}})
    box = trimesh.creation.box((400, 300, 200))
    (tmp_path / "box.stl").write_bytes(box.export(file_type="stl"))
    do("import_scan", filepath=str(tmp_path / "box.stl"))
    bpy.context.view_layer.update()
    before = shown_matrix(scan())
    said = refusal("align_scan")
    assert "no crown between them" in said
    assert_allclose(shown_matrix(scan()), before)
    assert job().tire.size == "120/70-17" and not job().tire.use_measured_radius
    one_side, pose = scan_points()
    one_side = one_side[(one_side - pose.shift) @ pose.rotation[:, 0] > 20.0]
    do("import_scan", filepath=str(point_file(tmp_path, one_side)))
    assert "only one side of the tire" in refusal("align_scan")
    assert not job().tire.use_measured_radius


def test_bad_files_are_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "no.ply").write_text("nothing")
    assert "not a PLY" in refusal("import_scan", filepath=str(tmp_path / "no.ply"))
    assert "no such file" in refusal("import_scan", filepath=str(tmp_path / "gone.stl"))
    assert scan() is None and len(bpy.data.meshes) == 0


def test_a_scan_that_was_deleted_is_said(tmp_path: Path) -> None:
    points, _ = scan_points()
    do("import_scan", filepath=str(point_file(tmp_path, points)))
    bpy.data.objects.remove(scan())
    assert not bpy.ops.fenderwright.align_scan.poll()


def test_a_demo_sheet_keeps_what_no_scan_tells(tmp_path: Path) -> None:
    do("load_sheet", filepath=str(DEMO / "front_17.toml"))
    sheet = read_job(job())
    points, _ = scan_points()
    do("import_scan", filepath=str(point_file(tmp_path, points)))
    do("align_scan")
    filled = read_job(job())
    assert (filled.wall, filled.printer, filled.cage, filled.clearance.gap) == (
        sheet.wall,
        sheet.printer,
        sheet.cage,
        sheet.clearance.gap,
    )
    assert filled.mount.pad == sheet.mount.pad and filled.mount.height != sheet.mount.height


def test_the_file_handler_and_the_panel_are_there() -> None:
    handler = bpy.types.FENDERWRIGHT_FH_scan
    assert handler.bl_import_operator == "fenderwright.import_scan"
    assert set(handler.bl_file_extensions.split(";")) == {".ply", ".stl", ".obj", ".gltf", ".glb"}
    assert FENDERWRIGHT_PT_scan.bl_order == 12
