# SPDX-License-Identifier: GPL-3.0-or-later
"""Further seats through buttons, properties and sheet, the view's rows, and the part and its papers that come of them."""

from pathlib import Path

import bpy
import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.job.job_sheet import read_job_sheet
from addon.core.report.bolt_list import seat_bolt_list
from addon.core.shaping.seat_gaps import seat_gaps
from addon.core.skin.skin import full_skin, skin
from addon.host.cage.cage_mesh import read_points
from addon.output.sheet_file import write_sheet
from addon.pipeline.job_result import Timings, make_job
from addon.ui.mount.seat_operators import said_gap
from addon.ui.state import session
from addon.ui.state.job_values import read_job
from addon.ui.watch.readout import at_rest, readout
from tests.core.torus_surface import as_manifold
from tests.host.extension_scene import cage, seeded, settings, state

pytestmark = pytest.mark.usefixtures("troubles")


def rows() -> dict[str, str]:
    now = state()
    now.at_rest = at_rest(now)
    made = readout(now, "HOLD", None)
    assert made is not None
    return dict(made.rows)


def test_a_seat_from_the_button_to_the_papers(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match="no skin to put it on"):
        bpy.ops.fenderwright.add_seat("EXEC_DEFAULT", True)
    with pytest.raises(RuntimeError, match="no seat beside the mount"):
        bpy.ops.fenderwright.remove_seat("EXEC_DEFAULT", True)
    seeded("front_17")
    bpy.context.scene.cursor.location = (60.0, 250.0, 260.0)
    assert bpy.ops.fenderwright.add_seat("EXEC_DEFAULT", True) == {"FINISHED"}
    seat = settings().seats[0]
    seat.sides, seat.use_bracket, seat.bracket, seat.thread, seat.hardware = "both", True, 3.0, "M5", "washer_flat"
    seat.blend = 20.0
    assert bpy.ops.fenderwright.add_entry("EXEC_DEFAULT", True, section="seat", list_name="slots") == {"FINISHED"}
    assert len(seat.slots) == 1 and len(seat.bolts) == 1
    assert bpy.ops.fenderwright.remove_entry("EXEC_DEFAULT", True, section="seat", list_name="slots", index=0) == {"FINISHED"}
    assert state().problem == "" and state().facts is not None
    off = float(rows()["seat 1"].split(" mm off its plane")[0])
    assert off < 10.0 and "too far" not in rows()["seat 1"]
    job = read_job(settings())
    assert job.seats[0].sides == "both" and job == state().facts.job
    write_sheet(tmp_path / "job.toml", job)
    assert read_job_sheet(tmp_path / "job.toml") == job
    made = make_job(job, state().shaped.cage, Timings(lambda said: None))
    assert sum(as_manifold(part.mesh).genus() for part in made.finished.parts) == 4 + 2
    listed = seat_bolt_list(made.finished.seats[1], made.finished.whole, job.wall.thickness)
    # wall 3.0 less a flat of 0.3; large washer M5 1.4 (ISO 7093), bracket 3, washer 1.0 (ISO 7089), nut 6.8, two pitches 1.6
    assert_allclose(listed.grip_mm, 2.7, atol=0.02)
    assert listed.count == 1 and listed.length_mm == 20
    # moved 15 mm out, the view says so and the finish refuses it
    normal = np.array(seat.normal)
    seat.center = np.array(seat.center) + 15.0 * normal / np.linalg.norm(normal)
    assert "too far: 10.0 mm allowed" in rows()["seat 1"]
    with pytest.raises(RuntimeError, match=r"seat\[0\].blend"):
        bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True)
    seat.normal = (0.0, 0.0, 0.0)
    assert "seat[0].normal" in state().problem
    assert bpy.ops.fenderwright.remove_seat("EXEC_DEFAULT", True) == {"FINISHED"}
    assert state().problem == "" and "seat 1" not in rows()


def test_the_skin_is_brought_to_a_seat_and_back_by_undo() -> None:
    seeded("front_17")
    with pytest.raises(RuntimeError, match="no seat beside the mount"):
        bpy.ops.fenderwright.fit_to_seats("EXEC_DEFAULT", True)
    bpy.context.scene.cursor.location = (60.0, 250.0, 260.0)
    assert bpy.ops.fenderwright.add_seat("EXEC_DEFAULT", True) == {"FINISHED"}
    seat = settings().seats[0]
    normal = np.array(seat.normal)
    seat.sides, seat.blend = "both", 18.0
    seat.center = np.array(seat.center) + 14.0 * normal / np.linalg.norm(normal)
    assert "too far" in rows()["seat 1"]
    before = read_points(cage())
    bpy.ops.ed.undo_push(message="seat")
    assert bpy.ops.fenderwright.fit_to_seats("EXEC_DEFAULT", True) == {"FINISHED"}
    assert "too far" not in rows()["seat 1"] and float(rows()["seat 1"].split(" mm off its plane")[0]) < 2.0
    assert state().shaped.clear and np.abs(read_points(cage()) - before).max() > 5.0
    bpy.ops.ed.undo()
    assert_allclose(read_points(cage()), before, atol=1e-6)
    assert "too far" in rows()["seat 1"]
    # one that no skin is under is named
    settings().seats[0].center = (60.0, 250.0, 560.0)
    session.mark_job_changed(bpy.context.scene)
    before = read_points(cage())
    assert bpy.ops.fenderwright.fit_to_seats("EXEC_DEFAULT", True) == {"FINISHED"}
    assert_allclose(read_points(cage()), before, atol=1e-5)
    now = state()
    gap = seat_gaps(now.facts.job, full_skin(skin(now.shaped.cage, now.shaped.stencil)))[0]
    assert said_gap(gap) == f"{gap.name}: no skin under it; move the seat, or shape the skin to it"
