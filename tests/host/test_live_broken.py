# SPDX-License-Identifier: GPL-3.0-or-later
"""Cages that are no longer what shaping needs: the fault is named, nothing is lost, and the button mends what can be mended."""

from collections.abc import Callable

import bmesh
import bpy
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from addon.host.cage.cage_mesh import read_points, write_points
from addon.ui.state.scene_settings import settings_of
from tests.host.extension_scene import cage, check, in_edit_mode, room, run, seeded, state, stops, update

pytestmark = pytest.mark.usefixtures("troubles")


def repair() -> None:
    assert run(bpy.ops.fenderwright.repair_cage)
    update()


def two_axes(ob: bpy.types.Object) -> None:
    ob.modifiers["Mirror"].use_axis[1] = True


BROKEN: dict[str, tuple[Callable[[bpy.types.Object], object], str]] = {
    "scaled": (lambda ob: setattr(ob, "scale", (1.0, 1.2, 1.0)), "scaled or rotated"),
    "turned inside out": (lambda ob: setattr(ob, "scale", (1.0, -1.0, 1.0)), "scaled or rotated"),
    "rotated": (lambda ob: setattr(ob, "rotation_euler", (0.3, 0.0, 0.0)), "scaled or rotated"),
    "moved": (lambda ob: setattr(ob, "location", (0.0, 0.0, 5.0)), "is moved as an object"),
    "no mirror": (lambda ob: ob.modifiers.remove(ob.modifiers[0]), "no Mirror modifier"),
    "no subdivision": (lambda ob: ob.modifiers.remove(ob.modifiers[1]), "no Subdivision Surface modifier"),
    "no modifiers": (lambda ob: ob.modifiers.clear(), "no Mirror modifier"),
    "order": (lambda ob: ob.modifiers.move(0, 1), "not Mirror, then Subdivision"),
    "hidden modifier": (lambda ob: setattr(ob.modifiers[1], "show_viewport", False), "set otherwise are"),
    "two mirrors": (two_axes, "set otherwise are"),
}


@pytest.mark.parametrize("name", list(BROKEN))
def test_a_broken_object_is_named_and_mended(name: str) -> None:
    ob = seeded(level=3)
    points = read_points(ob)
    change, says = BROKEN[name]
    change(ob)
    update()
    assert any(says in sentence for sentence in stops()), state().problems
    assert state().shaped is None
    assert_array_equal(read_points(ob), points)
    repair()
    assert not state().problems
    if name not in ("scaled", "turned inside out", "rotated", "moved"):
        assert_array_equal(read_points(ob), points)
    check()


def test_renamed_and_joined() -> None:
    ob = seeded(level=3)
    ob.name = "something else"
    ob.data.update_tag()
    update()
    check("renamed")
    other = bpy.data.meshes.new("other")
    other.from_pydata([(500.0, 0.0, 0.0), (520.0, 0.0, 0.0), (520.0, 20.0, 0.0)], [], [(0, 1, 2)])
    beside = bpy.data.objects.new("other", other)
    bpy.context.scene.collection.objects.link(beside)
    for item in (ob, beside):
        item.select_set(True)
    bpy.context.view_layer.objects.active = ob
    bpy.ops.object.join()
    update()
    check("joined")


def test_joined_into_another_object() -> None:
    ob = seeded(level=3)
    count = len(read_points(ob))
    beside = bpy.data.objects.new("other", bpy.data.meshes.new("other"))
    bpy.context.scene.collection.objects.link(beside)
    for item in (ob, beside):
        item.select_set(True)
    bpy.context.view_layer.objects.active = beside
    bpy.ops.object.join()
    update()
    assert len(beside.data.vertices) == count
    assert state().shaped is None
    settings_of(bpy.context.scene).cage_object = beside
    update()
    repair()
    check("chosen and repaired")


def test_deleted_from_the_scene_is_named_and_brought_back() -> None:
    ob = seeded(level=3)
    points = read_points(ob)
    bpy.ops.ed.undo_push(message="start")
    assert run(bpy.ops.object.delete)
    update()
    assert state().shaped is None
    assert "was deleted from this scene" in stops()[0]
    assert "was deleted" in refusal(bpy.ops.fenderwright.restore_clearance)
    repair()
    assert_array_equal(read_points(cage()), points)
    check("brought back")
    cage().select_set(True)
    bpy.ops.ed.undo_push(message="again")
    assert run(bpy.ops.object.delete)
    update()
    assert state().shaped is None
    bpy.ops.ed.undo()
    update()
    check("undone")


def test_removed_from_the_file() -> None:
    bpy.data.objects.remove(seeded(level=3))
    update()
    assert cage() is None and state().shaped is None and state().facts is not None
    assert not bpy.ops.fenderwright.restore_clearance.poll()
    assert not bpy.ops.fenderwright.build_solid.poll()
    seeded(level=3)
    check("seeded anew")


def refusal(operator: Callable[..., set[str]]) -> str:
    """The sentence with which an operator refuses."""
    with pytest.raises(RuntimeError) as caught:
        operator("EXEC_DEFAULT", True)
    return str(caught.value)


def test_a_cage_that_is_no_mesh() -> None:
    seeded(level=3)
    curve = bpy.data.objects.new("a curve", bpy.data.curves.new("a curve", "CURVE"))
    bpy.context.scene.collection.objects.link(curve)
    settings_of(bpy.context.scene).cage_object = curve
    update()
    says = "a curve is of type CURVE, a cage is a mesh"
    assert stops() == [says] and state().shaped is None
    assert says in refusal(bpy.ops.fenderwright.restore_clearance)
    assert says in refusal(bpy.ops.fenderwright.build_solid)
    assert "is no mesh" in refusal(bpy.ops.fenderwright.make_half)
    repair()
    assert stops() == [says]


def test_another_active_object_changes_nothing() -> None:
    seeded(level=3)
    empty = bpy.data.objects.new("empty", None)
    bpy.context.scene.collection.objects.link(empty)
    bpy.context.view_layer.objects.active = empty
    update()
    check()
    assert run(bpy.ops.fenderwright.restore_clearance)
    bpy.context.view_layer.objects.active = None
    assert run(bpy.ops.fenderwright.restore_clearance)
    check()


def test_loose_points_are_noted_and_stop_nothing() -> None:
    in_edit_mode()
    bm = bmesh.from_edit_mesh(cage().data)
    bm.edges.new((bm.verts.new((10.0, 0.0, 100.0)), bm.verts.new((20.0, 0.0, 100.0))))
    bmesh.update_edit_mesh(cage().data)
    update()
    said = [problem.sentence for problem in state().problems]
    assert "2 points belong to no face" in said[0] and "1 edge of the cage belongs to no face" in said[1]
    check()
    assert_allclose(read_points(cage())[-1], [20.0, 0.0, 100.0])


def test_an_edge_of_three_faces_is_named_and_left_to_the_builder() -> None:
    in_edit_mode()
    count = len(read_points(cage()))
    bm = bmesh.from_edit_mesh(cage().data)
    edge = next(edge for edge in bm.edges if len(edge.link_faces) == 2)
    added = bm.faces.new((*edge.verts, bm.verts.new((30.0, 0.0, 500.0))))
    bmesh.update_edit_mesh(cage().data)
    update()
    assert "in more than two faces" in stops()[0]
    repair()
    assert "in more than two faces" in stops()[0]
    assert len(read_points(cage())) == count + 1
    bm = bmesh.from_edit_mesh(cage().data)
    bmesh.ops.delete(bm, geom=[face for face in bm.faces if len(face.verts) == 3], context="FACES")
    bmesh.update_edit_mesh(cage().data)
    assert not added.is_valid
    update()
    check("taken away")


@pytest.mark.parametrize(("across_mm", "mended"), [(-2.0, True), (-30.0, False)])
def test_points_across_the_plane_of_a_new_cage(across_mm: float, mended: bool) -> None:
    ob = seeded(level=3)
    points = read_points(ob)
    center = points[:, 0] == 0.0
    points[center, 0] = across_mm
    write_points(ob, points)
    settings_of(bpy.context.scene).hold = "WARN"
    update()
    assert "across the mirror plane" in stops()[0]
    repair()
    assert bool(stops()) != mended
    assert (read_points(ob)[center, 0] == (0.0 if mended else across_mm)).all()


def test_no_faces_left() -> None:
    in_edit_mode()
    bpy.ops.mesh.select_all(action="SELECT")
    bpy.ops.ed.undo_push(message="all")
    assert run(bpy.ops.mesh.delete, type="VERT")
    assert "has no face" in stops()[0]
    assert "has no face" in refusal(bpy.ops.fenderwright.restore_clearance)
    bpy.ops.ed.undo()
    check("taken back")


def test_shape_keys_are_named() -> None:
    ob = seeded(level=3)
    assert run(bpy.ops.object.shape_key_add)
    update()
    assert "shape keys" in stops()[0]
    bpy.context.view_layer.objects.active = ob
    assert run(bpy.ops.object.shape_key_remove, all=True)
    update()
    check("removed")


def test_the_envelope_is_not_the_limit() -> None:
    """The tire that is shown may be moved or deleted: what counts is the job."""
    seeded(level=3)
    least = room()
    tire = next(ob for ob in bpy.context.scene.objects if ob != cage())
    bpy.data.objects.remove(tire)
    update()
    assert room() == least
    check()
