# SPDX-License-Identifier: GPL-3.0-or-later
"""What the view says is so: drawn tire, modifiers, holes, seats, copies, scenes from elsewhere, dense cages, skin and solid."""

import time
from itertools import pairwise
from pathlib import Path

import bmesh
import bpy
import numpy as np
import pytest

from addon.core.bodies.revolved import revolved
from addon.core.views.view_lines import Role
from addon.host.cage.cage_mesh import read_points
from addon.host.envelope_object import envelope_object
from addon.host.part_objects import parts_are_shown
from addon.ui.state.scene_settings import settings_of
from addon.ui.watch.readout import readout, views
from tests.host.extension_scene import cage, check, run, seeded, settings, shown_skin, state, stops, update
from tests.host.scene_truth import keep_out, mesh_object, true_excess

pytestmark = pytest.mark.usefixtures("troubles")


def rows() -> dict[str, str]:
    made = readout(state(), "HOLD", None)
    assert made is not None, (state().problem, state().problems)
    return dict(made.rows)


def check_tire() -> None:
    """The drawn tire is that of the job, and stands on the axle."""
    ob = envelope_object(bpy.context.scene)
    assert ob is not None and len([item for item in bpy.context.scene.objects if item.get("fenderwright") == "envelope"]) == 1
    wanted = revolved(state().facts.envelope.profile)[0]
    place = np.zeros(3 * len(ob.data.vertices), np.float32)
    ob.data.vertices.foreach_get("co", place)
    world = place.reshape(-1, 3) @ np.array(ob.matrix_world)[:3, :3].T + np.array(ob.matrix_world)[:3, 3]
    assert world.shape == wanted.shape
    np.testing.assert_allclose(world, wanted, atol=1e-3)


def test_the_drawn_tire_is_that_of_the_job() -> None:
    seeded(level=3)
    settings().hold = "WARN"
    update()
    check_tire()
    settings().tire.use_measured_radius = True
    settings().tire.measured_radius = 306.0
    update()
    check_tire()
    settings().tire.size = "130/70-17"
    update()
    check_tire()
    tire = envelope_object(bpy.context.scene)
    tire.location.z = 30.0
    update()
    check_tire()
    bpy.data.objects.remove(tire)
    update()
    check_tire()
    mesh = envelope_object(bpy.context.scene).data
    mesh.vertices[0].co.z += 25.0
    mesh.update()
    update()
    check_tire()


@pytest.mark.parametrize("kind", ["DISPLACE", "SOLIDIFY", "SHRINKWRAP"])
def test_a_modifier_behind_the_subdivision_is_told_and_put_aside(kind: str) -> None:
    ob = seeded(level=3)
    modifier = ob.modifiers.new("Extra", kind)
    update()
    assert any("Extra changes it" in sentence for sentence in stops()) and state().shaped is None
    with pytest.raises(RuntimeError, match="Extra changes it"):
        bpy.ops.fenderwright.build_solid()
    modifier.show_viewport = False
    update()
    check("hidden")
    modifier.show_viewport = True
    update()
    assert stops()
    assert run(bpy.ops.fenderwright.repair_cage)
    update()
    assert not modifier.show_viewport and len(ob.modifiers) == 3
    check("repaired")
    ob.modifiers.new("Weighted Normal", "WEIGHTED_NORMAL")
    update()
    check("what moves no point is no fault")


def cut_hole(chosen: np.ndarray) -> None:
    """Delete the face of the cage whose middle is nearest to a place."""
    bm = bmesh.new()
    bm.from_mesh(cage().data)
    face = min(bm.faces, key=lambda face: np.linalg.norm(np.array(face.calc_center_median()) - chosen))
    bmesh.ops.delete(bm, geom=[face], context="FACES")
    bm.to_mesh(cage().data)
    bm.free()
    cage().data.update()
    update()


def test_a_hole_is_told_and_no_view_draws_material_across_it() -> None:
    """In the crown, where half and mirror image meet; in the flank; the rows of its place by the host's own mesh."""
    seeded(level=4)
    assert "Hole in the Skin" not in rows()
    cut_hole(np.array([10.0, 150.0, 310.0]))
    assert "Hole in the Skin" in rows()
    hole = readout(state(), "HOLD", None).holes[0]
    station = -float(np.degrees(np.arctan2(hole[1], hole[2])))
    made = views(state(), station, None)
    skin = shown_skin()
    for role in (Role.OUTER, Role.INNER):
        lines = [line.points for line in made.section.lines if line.role is role]
        assert len(lines) == 2 and all((line[:, 0] > 0.0).all() or (line[:, 0] < 0.0).all() for line in lines)
        for line in lines:  # no point of a line, nor between two, is far from the skin that the host shows
            dense = np.vstack([np.linspace(a, b, 9) for a, b in pairwise(line)])
            angle = np.radians(station)
            place = np.column_stack([dense[:, 0], -dense[:, 1] * np.sin(angle), dense[:, 1] * np.cos(angle)])
            far = [np.linalg.norm(skin - point, axis=1).min() for point in place[::7]]
            assert max(far) < 8.0
        sides = [line.points for line in made.side if line.role is role]
        assert len(sides) == 2, "the center plane is cut in two pieces of wall"
    pairs = zip(
        [line.points for line in made.side if line.role is Role.OUTER],
        [line.points for line in made.side if line.role is Role.INNER],
        strict=True,
    )
    for outer, inner in pairs:
        assert np.linalg.norm(outer[[0, -1]] - inner[[0, -1]], axis=1).max() < 10.0


def test_a_seat_off_its_plane_is_told_at_once() -> None:
    seeded(level=3)
    assert "off its plane" in rows()["Mount Seat"] and "too far" not in rows()["Mount Seat"]
    settings().hold = "WARN"
    points = read_points(cage())
    flat = points.astype(np.float32)
    flat[:, 2] += 30.0
    cage().data.attributes["position"].data.foreach_set("vector", flat.ravel())
    cage().data.update()
    update()
    assert "too far" in rows()["Mount Seat"]
    lifted = float(rows()["Mount Seat"].split()[0])
    frame = state().facts.frame
    skin = shown_skin()
    near = np.linalg.norm(skin - frame.origin, axis=1) < 40.0
    height = (skin[near] - frame.origin) @ frame.up
    assert height.min() - 6.0 < lifted < height.max() + 6.0


def test_a_copy_in_hand_is_named_and_the_readout_names_its_cage() -> None:
    ob = seeded(level=3)
    assert rows()["Cage"] == ob.name and "Not Watched" not in rows()
    bpy.ops.object.select_all(action="DESELECT")
    ob.select_set(True)
    bpy.context.view_layer.objects.active = ob
    assert run(bpy.ops.object.duplicate_move)
    update()
    copy = bpy.context.view_layer.objects.active
    assert copy != ob and rows()["Not Watched"].startswith(copy.name) and rows()["Cage"] == ob.name
    assert readout(state(), "HOLD", None).broken
    bpy.ops.object.mode_set(mode="EDIT")
    update()
    assert rows()["Not Watched"].startswith(copy.name)
    bpy.ops.object.mode_set(mode="OBJECT")
    settings().cage_object = copy
    update()
    assert rows()["Cage"] == copy.name and "Not Watched" not in rows()
    copy.name = "renamed"
    update()
    assert rows()["Cage"] == "renamed"


def test_an_appended_scene_is_watched(tmp_path: Path) -> None:
    seeded(level=3)
    block = mesh_object("block", (0.0, 0.0, 600.0))
    keep_out(block)
    update()
    bpy.context.scene.name = "Job"
    file = str(tmp_path / "job.blend")
    bpy.ops.wm.save_as_mainfile(filepath=file, copy=True)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    with bpy.data.libraries.load(file) as (_, here):
        here.scenes = ["Job"]
    scene = bpy.data.scenes["Job"]
    bpy.context.window.scene = scene
    assert state().stale, "what has the first drawing of a scene tag its cage"
    settings().cage_object.update_tag()
    update()
    assert settings_of(scene).cage_object.name in scene.objects and not stops()
    check("appended")
    assert state().shaped.worst.excess_mm == pytest.approx(true_excess(), abs=0.01)
    assert rows()["Cage"] == "Fender Cage"


def test_a_dense_cage_is_refused_at_once() -> None:
    """4,608 faces: repair, readout and build say what to do, in seconds, and change nothing."""
    ob = seeded(level=4)
    bm = bmesh.new()
    bm.from_mesh(ob.data)
    while len(bm.faces) < 4608:
        bmesh.ops.subdivide_edges(bm, edges=bm.edges[:], cuts=1, use_grid_fill=True)
    bm.to_mesh(ob.data)
    bm.free()
    ob.scale = (1.0, 1.1, 1.0)
    start = time.process_time()
    update()
    assert any("too many to shape at level 4" in sentence for sentence in stops()) and state().shaped is None
    for operator in (bpy.ops.fenderwright.repair_cage, bpy.ops.fenderwright.build_solid, bpy.ops.fenderwright.restore_clearance):
        with pytest.raises(RuntimeError, match="delete edge loops"):
            operator()
    assert time.process_time() - start < 5.0, "of processor time"
    assert tuple(round(value, 3) for value in ob.scale) == (1.0, 1.1, 1.0)
    settings().cage.level = 1
    assert run(bpy.ops.fenderwright.repair_cage)
    assert not stops()


def test_skin_or_solid_is_shown() -> None:
    ob = seeded(level=3)
    assert bpy.ops.fenderwright.build_solid() == {"FINISHED"}
    scene = bpy.context.scene

    def shown() -> tuple[bool, bool]:
        update()
        return ob.visible_get(), parts_are_shown(scene)

    assert shown() == (False, True)
    assert bpy.ops.fenderwright.show_skin() == {"FINISHED"}
    assert shown() == (True, False) and bpy.context.view_layer.objects.active == ob
    assert bpy.ops.fenderwright.show_skin() == {"FINISHED"}
    assert shown() == (False, True)
    ob.hide_set(False)
    assert shown() == (True, False), "what came last is shown"
    for item in bpy.data.collections["Fender Parts"].objects:
        item.hide_set(False)
    assert shown() == (False, True)
    assert bpy.ops.fenderwright.show_wall() == {"FINISHED"}
    assert shown() == (False, False)
    assert bpy.ops.fenderwright.show_wall() == {"FINISHED"}
    assert shown() == (False, True)
