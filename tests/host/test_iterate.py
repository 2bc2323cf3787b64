# SPDX-License-Identifier: GPL-3.0-or-later
"""Back to the cage after the files are written: trim, seat, joint and pick follow, and the list of changes is true.

Figures are taken from the written files by trimesh and scipy, not from our report.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import bmesh
import bpy
import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose
from scipy.spatial import cKDTree

from addon.core.job.job_sheet import read_job_sheet
from addon.core.tire.tire_profile import tire_profile
from addon.host.cage.cage_mesh import read_points
from addon.ui.state.job_values import read_job
from tests.host.extension_scene import cage, check, in_edit_mode, run, select, settings, state, update

pytestmark = pytest.mark.usefixtures("troubles")

MOVE, MESH = bpy.ops.transform, bpy.ops.mesh
DENSITY = 1.27
"""PETG, g/cm3: middle of 1.25 to 1.29, additive.tools."""
PIECES = ("fender_front.stl", "fender_rear.stl")


def written(folder: Path) -> dict[str, Any]:
    """What the files in a folder say: mass and extents of each piece, least clearance to the tire by sampled profile, genus."""
    profile = tire_profile(read_job_sheet(folder.parent / "job.toml")).largest
    length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(profile, axis=0), axis=1))])
    at = np.linspace(0.0, length[-1], 200_000)
    tree = cKDTree(np.column_stack([np.interp(at, length, column) for column in profile.T]))
    found: dict[str, Any] = {"least": np.inf}
    for name in PIECES:
        mesh = trimesh.load(folder / name)
        assert mesh.is_volume
        flat = np.column_stack([np.abs(mesh.vertices[:, 0]), np.hypot(mesh.vertices[:, 1], mesh.vertices[:, 2])])
        found["least"] = min(found["least"], float(tree.query(flat)[0].min()))
        found[name] = (mesh.volume / 1000.0 * DENSITY, mesh.extents, 1 - mesh.euler_number // 2)
    return found


def set_up() -> None:
    """Trim, a seat beside the mount on both sides, a full lap: all that a builder states before the first print."""
    bpy.ops.object.mode_set(mode="OBJECT")
    job = settings()
    bpy.context.scene.cursor.location = (0.0, 225.0, 280.0)
    assert bpy.ops.fenderwright.add_seat("EXEC_DEFAULT", True) == {"FINISHED"}
    job.seats[0].blend, job.seats[0].thread = 20.0, "M5"
    assert bpy.ops.fenderwright.add_opening("EXEC_DEFAULT", True) == {"FINISHED"}
    opening = job.openings[0]
    opening.station, opening.x, opening.length, opening.width = 24.0, 24.0, 14.0, 8.0
    job.trim.use_front_radius, job.trim.front_radius = True, 20.0
    job.split.joint = "full_lap"
    update()
    assert state().problem == ""


def write(folder: Path) -> dict[str, Any]:
    assert bpy.ops.fenderwright.write_halves("EXEC_DEFAULT", True, directory=str(folder)) == {"FINISHED"}
    report: dict[str, Any] = json.loads((folder / "report.json").read_text())
    return report


def reshape() -> None:
    """Push, scale and extrude: the rear end wider, the front drawn out, a flank pushed."""
    bpy.ops.object.mode_set(mode="EDIT")
    assert select(lambda vert: vert.co.y < -180.0)
    assert run(MESH.extrude_region_move, TRANSFORM_OT_translate={"value": (0.0, -14.0, -9.0)})
    assert select(lambda vert: vert.co.y < -150.0 and vert.co.x > 40.0)
    assert run(MOVE.translate, value=(3.0, 0.0, 2.0))
    assert select(lambda vert: vert.co.y > 250.0)
    assert run(MOVE.resize, value=(1.06, 1.0, 1.0))
    update()
    check("after the edits")
    bpy.ops.object.mode_set(mode="OBJECT")
    update()


def test_all_follows_the_cage_and_the_changes_are_told_as_the_files_have_them(tmp_path: Path) -> None:
    in_edit_mode(level=4)
    set_up()
    assert bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True) == {"FINISHED"}
    front = state().plans[0]
    assert bpy.ops.fenderwright.pick_way(piece="front", index=len(front.options) - 1) == {"FINISHED"}
    up = front.options[-1].fit.rotation[2]
    bpy.ops.fenderwright.save_sheet(filepath=str(tmp_path / "job.toml"))
    folder = tmp_path / "out"
    folder.mkdir()
    assert write(folder)["changes"] == []
    before, job = written(folder), read_job(settings())
    path = str(tmp_path / "kept.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.open_mainfile(filepath=path)
    update()
    assert bpy.ops.fenderwright.show_skin("EXEC_DEFAULT", True) == {"FINISHED"}
    reshape()
    assert read_job(settings()) == job, "shaping leaves trim, seat, joint and pick as they were stated"
    report = write(folder)
    after = written(folder)
    # one more through hole in the front for the opening, as before; bolts of the lap in both pieces, the seat's in its own
    assert [before[name][2] for name in PIECES] == [after[name][2] for name in PIECES]
    picked = report["print"]["pieces"][0]
    option = state().plans[0].options[picked["picked"]]
    assert np.degrees(np.arccos(np.clip(option.fit.rotation[2] @ up, -1.0, 1.0))) < 10.0
    changes = report["changes"]
    for name in PIECES:
        (mass, size, _), (new_mass, new_size, _) = before[name], after[name]
        told = f"{name}: {mass:.1f} g to {new_mass:.1f} g ({new_mass - mass:+.1f})." in changes
        assert told or abs(new_mass - mass) < 0.06, "what is not told has not changed as it is shown"
        sizes = [line for line in changes if line.startswith(f"{name}: ") and " x " in line]
        assert len(sizes) == 1 or (np.abs(size - new_size).max() < 0.11 and not sizes)
        for line in sizes:
            told = np.array(re.findall(r"\d+\.\d", line), float).reshape(2, 3)
            assert_allclose(told, [size, new_size], atol=0.06)
            assert (told[0] != told[1]).any(), line
    told = [line for line in changes if line.startswith("Least clearance to the tire: ")]
    assert told or abs(after["least"] - before["least"]) < 0.02
    for line in told:
        figures = [float(word) for word in re.findall(r"(\d+\.\d+) mm", line)]
        assert_allclose(figures, [before["least"], after["least"]], atol=0.02)
    assert np.abs(before[PIECES[0]][1] - after[PIECES[0]][1]).max() > 5.0, "else nothing was changed"


def test_undo_goes_back_past_a_build(tmp_path: Path) -> None:
    in_edit_mode(level=4)
    set_up()
    bpy.ops.ed.undo_push(message="start")
    start = read_points(cage())
    reshape()
    bpy.ops.ed.undo_push(message="shaped")
    shaped = read_points(cage())
    assert bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True) == {"FINISHED"}
    built = bpy.data.collections["Fender Parts"].objects[0]
    count = len(built.data.vertices)
    for _ in range(40):
        bpy.ops.ed.undo()
        update()
        if len(read_points(cage())) == len(start) and np.allclose(read_points(cage()), start, atol=1e-4):
            break
    else:
        pytest.fail("undo does not lead back to the shape before the edits")
    check("undone past the build")
    job = read_job(settings())
    assert job.seats and job.openings and job.split.joint == "full_lap"
    for _ in range(40):
        bpy.ops.ed.redo()
        update()
        if len(read_points(cage())) == len(shaped) and np.allclose(read_points(cage()), shaped, atol=1e-3):
            break
    else:
        pytest.fail("redo does not lead to the shape again")
    assert bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True) == {"FINISHED"}
    again = bpy.data.collections["Fender Parts"].objects[0]
    assert abs(len(again.data.vertices) - count) < 0.02 * count
    for piece in bpy.data.collections["Fender Parts"].objects:
        mesh = bmesh.new()
        mesh.from_mesh(piece.data)
        assert all(edge.is_manifold for edge in mesh.edges)
        mesh.free()
