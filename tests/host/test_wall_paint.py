# SPDX-License-Identifier: GPL-3.0-or-later
"""The wall painted on the cage with the host's weight paint, and ribs, from the panel to the solid."""

from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest
import trimesh

from addon.host.cage.cage_mesh import read_cage
from addon.host.cage.wall_paint import GROUP
from addon.ui.state import session
from addon.ui.watch.readout import at_rest, views
from tests.host.extension_scene import cage, seeded, settings, state
from tests.host.test_panel_job import refusal

pytestmark = pytest.mark.usefixtures("troubles")


def paint(from_y: float, weight: float = 1.0) -> Any:
    """Weight on all cage points behind a place."""
    ob = cage()
    group = ob.vertex_groups[GROUP]
    group.add([vertex.index for vertex in ob.data.vertices if vertex.co.y > from_y], weight, "REPLACE")
    return group


def solid() -> trimesh.Trimesh:
    """The rear piece as shown."""
    assert bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True) == {"FINISHED"}
    ob = bpy.data.objects["Fender Rear"]
    corners = np.array([vertex.co[:] for vertex in ob.data.vertices])
    return trimesh.Trimesh(corners, [face.vertices[:] for face in ob.data.polygons], process=False)


def thickness(mesh: trimesh.Trimesh, at: np.ndarray) -> float:
    """Of the wall where the way from the axle to a place goes through it, along that way."""
    way = at * [0.0, 1.0, 1.0] / np.linalg.norm(at[1:])
    hits = mesh.ray.intersects_location([at * [1.0, 0.0, 0.0]], [way])[0]
    return float(np.ptp(hits @ way))


def test_paint_thickens_the_wall_where_it_is_and_stays_through_edits(tmp_path: Path) -> None:
    seeded()
    before = solid()
    assert bpy.ops.fenderwright.paint_wall("EXEC_DEFAULT", True) == {"FINISHED"}
    assert cage().mode == "WEIGHT_PAINT" and cage().vertex_groups.active.name == GROUP
    assert settings().wall.painted_thickness == pytest.approx(1.5 * settings().wall.thickness)
    assert "object mode" in refusal("paint_wall")
    bpy.ops.object.mode_set(mode="OBJECT")
    assert read_cage(cage()).paint is None, "weight 0 everywhere is no paint"
    paint(150.0)
    settings().wall.thickness, settings().wall.painted_thickness = 3.0, 4.5
    session.mark_job_changed(bpy.context.scene)
    assert bpy.ops.fenderwright.restore_clearance("EXEC_DEFAULT", True) == {"FINISHED"}
    rear = np.array([0.37, 215.0, 255.0])
    after = solid()
    assert thickness(before, rear) == pytest.approx(3.0, abs=0.15)
    assert thickness(after, rear) == pytest.approx(4.5, abs=0.2)
    assert after.is_volume and after.volume > before.volume
    bpy.ops.object.mode_set(mode="EDIT")
    edited = read_cage(cage()).paint
    bpy.ops.object.mode_set(mode="OBJECT")
    assert edited is not None and edited.max() == 1.0 and edited.min() == 0.0
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "painted.blend"))
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "painted.blend"))
    np.testing.assert_array_equal(read_cage(cage()).paint, edited)


def test_mass_and_section_follow_the_paint() -> None:
    seeded()
    bpy.ops.fenderwright.paint_wall("EXEC_DEFAULT", True)
    bpy.ops.object.mode_set(mode="OBJECT")
    settings().wall.thickness, settings().wall.painted_thickness = 3.0, 4.5
    session.mark_job_changed(bpy.context.scene)
    bpy.ops.fenderwright.restore_clearance("EXEC_DEFAULT", True)
    plain = at_rest(state())
    paint(-1000.0)
    bpy.ops.fenderwright.restore_clearance("EXEC_DEFAULT", True)
    full = at_rest(state())
    assert plain is not None and full is not None
    assert full.mass_g == pytest.approx(1.5 * plain.mass_g, rel=1e-6)
    shown = views(state(), 0.0, None)
    assert shown is not None
    outer, inner = (next(line.points for line in shown.section.lines if line.role.name == name) for name in ("OUTER", "INNER"))
    assert outer[:, 1].max() - inner[:, 1].max() == pytest.approx(4.5, abs=0.01)


def test_ribs_by_the_panel() -> None:
    seeded()
    before = solid()
    assert bpy.ops.fenderwright.add_rib("EXEC_DEFAULT", True) == {"FINISHED"}
    rib = settings().ribs[0]
    assert (rib.front, rib.rear) == pytest.approx((0.9 * settings().cage.front, 0.9 * settings().cage.rear))
    after = solid()
    assert after.is_volume
    place = np.array([0.37, 215.0, 255.0])
    assert thickness(after, place) - thickness(before, place) == pytest.approx(rib.height, abs=0.15)
    rib.x = 200.0
    session.mark_job_changed(bpy.context.scene)
    with pytest.raises(RuntimeError, match="beside the skin"):
        bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True)
    assert state().trouble is not None, "the place is marked"
    assert bpy.ops.fenderwright.remove_rib("EXEC_DEFAULT", True) == {"FINISHED"}
    assert not settings().ribs
