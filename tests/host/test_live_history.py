# SPDX-License-Identifier: GPL-3.0-or-later
"""Undo and redo, several scenes, other files, and the extension taken out in the middle: what is shown is clear, nothing is lost."""

from pathlib import Path

import bmesh
import bpy
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import addon
from addon.host.cage.cage_mesh import read_points
from addon.ui.state.job_values import read_job
from addon.ui.state.scene_settings import settings_of
from tests.host.extension_scene import (
    FLOAT_MM,
    cage,
    check,
    in_edit_mode,
    room,
    run,
    seeded,
    select,
    shown_skin,
    state,
    stops,
    update,
)

MOVE, MESH = bpy.ops.transform, bpy.ops.mesh


pytestmark = pytest.mark.usefixtures("troubles")


def grab_front() -> None:
    in_edit_mode()
    select(lambda vert: vert.co.y < -150.0)
    bpy.ops.ed.undo_push(message="start")


STEPS = (
    lambda: run(MOVE.translate, value=(0.0, 0.0, -40.0)),
    lambda: run(MESH.extrude_region_move, TRANSFORM_OT_translate={"value": (0.0, -10.0, -50.0)}),
    lambda: run(MOVE.resize, value=(0.6, 1.0, 1.0)),
    lambda: run(MOVE.rotate, value=0.5, orient_axis="X"),
    lambda: run(MOVE.translate, value=(0.0, 30.0, -60.0)),
    lambda: run(MESH.subdivide, number_cuts=1),
    lambda: run(MOVE.translate, value=(0.0, 0.0, -30.0)),
)


def test_undo_and_redo_walk_through_what_was_shown() -> None:
    grab_front()
    shown, points = [shown_skin()], [read_points(cage())]
    for step in STEPS:
        assert step()
        check()
        shown.append(shown_skin())
        points.append(read_points(cage()))
    for _ in range(2):
        for number in range(len(STEPS) - 1, -1, -1):
            bpy.ops.ed.undo()
            assert_allclose(shown_skin(), shown[number], atol=1e-3)
            assert_array_equal(read_points(cage()), points[number])
            check(f"undo to {number}")
        assert_array_equal(read_points(cage()), points[0])
        for number in range(1, len(STEPS) + 1):
            bpy.ops.ed.redo()
            assert_allclose(shown_skin(), shown[number], atol=1e-3)
            check(f"redo to {number}")


def test_undo_of_our_own_operators() -> None:
    bpy.ops.ed.undo_push(message="start")
    first = seeded(level=3).session_uid
    assert run(bpy.ops.fenderwright.seed_cage)
    assert cage().session_uid != first
    bpy.ops.ed.undo()
    assert cage().session_uid == first
    update()
    check("second seed undone")
    bpy.ops.ed.redo()
    update()
    check("redone")


def test_a_value_changed_in_between_is_undone_with_its_clearance() -> None:
    ob = seeded(level=3)
    bpy.ops.ed.undo_push(message="seeded")
    points = read_points(ob)
    settings_of(bpy.context.scene).clearance.gap = 18.0
    update()
    bpy.ops.ed.undo_push(message="gap")
    assert (read_points(cage()) != points).any()
    check("raised")
    bpy.ops.ed.undo()
    update()
    assert state().facts.job.clearance.gap == 10.0
    assert_array_equal(read_points(cage()), points)
    check("undone")


def test_leaving_and_entering_edit_mode_between_undo_steps() -> None:
    grab_front()
    assert run(MOVE.translate, value=(0.0, 0.0, -60.0))
    update()
    held = read_points(cage())
    for mode in ("OBJECT", "EDIT", "OBJECT", "EDIT"):
        assert run(bpy.ops.object.mode_set, mode=mode)
        assert_array_equal(read_points(cage()), held)
        check(mode)
    for _ in range(4):
        bpy.ops.ed.undo()
        update()
        check("undone")
    for _ in range(4):
        bpy.ops.ed.redo()
        update()
        check("redone")


def test_two_scenes_do_not_mix() -> None:
    first = bpy.context.scene
    one = seeded("front_17", level=3)
    points = read_points(one)
    second = bpy.data.scenes.new("second")
    bpy.context.window.scene = second
    other = seeded("front_21", level=3)
    assert other != one and settings_of(first).cage_object == one
    assert state().facts.job.name == "front 21"
    check("second")
    for vertex in other.data.vertices:
        vertex.co.z -= 50.0
    other.data.update_tag()
    update()
    check("second pushed")
    assert_array_equal(read_points(one), points)
    bpy.context.window.scene = first
    update()
    assert state().facts.job.name == "front 17"
    check("first")
    bpy.data.scenes.remove(second)
    update()
    check("second removed")


def test_a_cage_that_both_scenes_show() -> None:
    """Each scene holds it to its own job, so that the stricter one wins once both were looked at."""
    first = bpy.context.scene
    ob = seeded(level=3)
    bpy.ops.scene.new(type="LINK_COPY")
    assert cage() == ob and bpy.context.scene != first
    settings_of(bpy.context.scene).clearance.gap = 18.0
    update()
    check("stricter")
    bpy.context.window.scene = first
    update()
    assert state().facts.job.clearance.gap == 10.0
    check("first")


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    """A file with a seeded and shaped cage, saved while it was edited; the host is left with an empty file."""
    grab_front()
    assert run(MOVE.translate, value=(0.0, 0.0, -60.0))
    path = tmp_path / "saved.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    return path


def test_saved_while_editing_and_reopened(saved: Path) -> None:
    assert cage() is None
    bpy.ops.wm.open_mainfile(filepath=str(saved))
    update()
    check("reopened")
    assert state().shaped is not None
    bpy.context.view_layer.objects.active = cage()
    bpy.ops.object.mode_set(mode="EDIT")
    select(lambda vert: vert.co.y < -150.0)
    assert run(MOVE.translate, value=(0.0, 0.0, -60.0))
    check("pushed")
    bpy.ops.wm.revert_mainfile()
    update()
    check("reverted")


def test_appended_to_another_file(saved: Path) -> None:
    with bpy.data.libraries.load(str(saved), link=False) as (there, here):
        here.scenes = there.scenes
    bpy.context.window.scene = here.scenes[0]
    update()
    assert read_job(settings_of(bpy.context.scene)).name == "front 17"
    cage().data.update_tag()
    update()
    check("appended scene")


def test_linked_from_another_file_is_named_and_made_local(saved: Path) -> None:
    seeded(level=3)
    with bpy.data.libraries.load(str(saved), link=True) as (there, here):
        here.objects = [name for name in there.objects if name == "Fender Cage"]
    (linked,) = here.objects
    bpy.context.scene.collection.objects.link(linked)
    settings_of(bpy.context.scene).cage_object = linked
    update()
    assert "is linked from another file: make it local first" in stops()[0]
    points = read_points(linked)
    bpy.data.libraries[0].reload()
    update()
    assert "is linked from another file" in stops()[0]
    linked = settings_of(bpy.context.scene).cage_object
    assert_array_equal(read_points(linked), points)
    linked.make_local()
    linked.data.make_local()
    update()
    assert not stops()
    check("local")


def test_taken_out_and_put_back_while_editing() -> None:
    grab_front()
    assert run(MOVE.translate, value=(0.0, 0.0, -60.0))
    job = read_job(settings_of(bpy.context.scene))
    addon.unregister()
    assert run(MOVE.translate, value=(0.0, 0.0, -60.0))
    addon.register()
    assert read_job(settings_of(bpy.context.scene)) == job
    assert room() < -FLOAT_MM
    assert run(MOVE.translate, value=(0.0, 0.0, -5.0))
    update()
    check("put back")
    bpy.ops.ed.undo()
    update()
    check("undone")


def drag_points(numbers: list[int], places: np.ndarray) -> None:
    """Put points of the edited mesh to places, as one mouse step does."""
    bm = bmesh.from_edit_mesh(cage().data)
    bm.verts.ensure_lookup_table()
    for number, place in zip(numbers, places.tolist(), strict=True):
        bm.verts[number].co = place
    bmesh.update_edit_mesh(cage().data)
    bpy.context.view_layer.update()


def test_a_rude_drag_stays_on_the_side_it_came_from() -> None:
    """Straight down through the tire and out below, as a mouse would: the face ends above the axle, where it came from."""
    in_edit_mode()
    ob = cage()
    start = read_points(ob)
    chosen = start[:, 1] < -150.0
    step_mm = 5.0
    skin = shown_skin()
    for number in range(1, 161):
        drag_points(np.flatnonzero(chosen).tolist(), start[chosen] + [0.0, 0.0, -step_mm * number])
        now = shown_skin()
        assert room() >= -FLOAT_MM, number
        assert np.linalg.norm(now - skin, axis=1).max() <= 4.0 * step_mm + 0.01, number
        skin = now
    update()
    check()
    assert_array_equal(read_points(ob)[~chosen], start[~chosen])
