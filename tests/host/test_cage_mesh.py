# SPDX-License-Identifier: GPL-3.0-or-later
"""The cage object: made, read and written in both modes, its faults named and mended."""

import math

import bmesh
import bpy
import numpy as np
import pytest
from mathutils import Matrix
from numpy.testing import assert_allclose, assert_array_equal
from scipy.spatial import KDTree

from addon.core.base.wheel_axes import point_at
from addon.core.skin.cage import Cage, topology_of_faces
from addon.core.skin.skin import skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.host.cage.cage_mesh import make_cage_object, read_cage, read_points, read_seat, write_points, write_seat
from addon.host.cage.cage_modifiers import cage_modifiers
from addon.host.cage.cage_object_problems import cage_object_problems
from addon.host.cage.cage_repair import repair
from tests.random_cages import grid_faces, random_cage


@pytest.fixture(autouse=True)
def empty_file():
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    yield
    if bpy.context.mode != "OBJECT":
        bpy.ops.object.mode_set(mode="OBJECT")


def fender_cage():
    """Half a fender over the front wheel: 5 stations, 3 columns, faces outward, one crease."""
    station, x = np.meshgrid(np.linspace(40.0, -60.0, 5), [0.0, 40.0, 60.0], indexing="ij")
    points = point_at(330.0 - 0.004 * x.ravel() ** 2, station.ravel(), x.ravel())
    faces = grid_faces(5, 3)
    topology = topology_of_faces(15, faces, creases={(1, 4): 0.5}, point_creases={2: 0.25}, on_plane=points[:, 0] == 0.0)
    return Cage(topology, points)


def made(cage=None, **options):
    ob = make_cage_object(cage or fender_cage(), "Fender Cage", bpy.context.collection, **options)
    bpy.context.view_layer.objects.active = ob
    bpy.context.view_layer.update()
    return ob


def edit_mode():
    bpy.ops.object.mode_set(mode="EDIT")


def codes(ob):
    return [problem.code for problem in cage_object_problems(ob)]


def test_new_object_is_the_cage_without_fault():
    cage = fender_cage()
    ob = made(cage, level=3)
    assert cage_object_problems(ob) == []
    assert [modifier.type for modifier in ob.modifiers] == ["MIRROR", "SUBSURF"]
    assert cage_modifiers(ob).level == 3
    back = read_cage(ob)
    assert_allclose(back.points, cage.points, atol=2e-5)  # float32 at 330 mm
    for name in ("face_starts", "corners", "on_plane", "point_creases"):
        assert_array_equal(getattr(back.topology, name), getattr(cage.topology, name))
    assert {tuple(sorted(edge)) for edge in back.topology.crease_edges.tolist()} == {(1, 4)}
    assert_allclose(back.topology.creases, [0.5])
    assert back.topology.mirrored and not back.topology.keep_corners


@pytest.mark.parametrize("seed", range(10))
def test_both_modes_read_the_same(seed):
    ob = made(random_cage(seed))
    outside = read_cage(ob)
    edit_mode()
    inside = read_cage(ob)
    assert_array_equal(inside.points, outside.points)
    assert inside.topology.key == outside.topology.key


def test_edit_mode_shows_the_mesh_being_edited():
    ob = made()
    edit_mode()
    bm = bmesh.from_edit_mesh(ob.data)
    bm.verts.ensure_lookup_table()
    bm.verts[4].co.z += 7.0
    bmesh.ops.subdivide_edges(bm, edges=[bm.verts[4].link_edges[0]], cuts=1)
    cage = read_cage(ob)
    assert len(cage.points) == 16
    assert cage.points[4, 2] == pytest.approx(fender_cage().points[4, 2] + 7.0, abs=1e-4)
    assert cage.topology.face_count == 8
    assert sorted(np.diff(cage.topology.face_starts).tolist()) == [4, 4, 4, 4, 4, 4, 5, 5]
    assert np.bincount(cage.topology.corners)[15] == 2


@pytest.mark.parametrize("mode", ["OBJECT", "EDIT"])
def test_written_points_are_read_back(mode):
    ob = made()
    bpy.ops.object.mode_set(mode=mode)
    wanted = read_points(ob) + np.random.default_rng(0).normal(size=(15, 3))
    write_points(ob, wanted)
    assert_allclose(read_points(ob), wanted, atol=2e-5)
    evaluated = ob.evaluated_get(bpy.context.evaluated_depsgraph_get())
    shown = evaluated.to_mesh()
    highest = max(vertex.co.z for vertex in shown.vertices)
    evaluated.to_mesh_clear()
    assert highest > 300.0
    write_points(ob, wanted + [0.0, 0.0, 100.0])
    evaluated = ob.evaluated_get(bpy.context.evaluated_depsgraph_get())
    shown = evaluated.to_mesh()
    assert max(vertex.co.z for vertex in shown.vertices) == pytest.approx(highest + 100.0, abs=1e-3)
    evaluated.to_mesh_clear()
    bpy.ops.object.mode_set(mode="OBJECT")
    assert_allclose(read_points(ob), wanted + [0.0, 0.0, 100.0], atol=4e-5)


def test_written_points_turn_the_normals():
    ob = made()
    assert ob.data.vertices[7].normal.z > 0.9
    write_points(ob, read_points(ob)[:, [0, 2, 1]] * [1.0, -1.0, 1.0])  # a quarter turn about x
    assert ob.data.vertices[7].normal.y < -0.9


@pytest.mark.parametrize("mode", ["OBJECT", "EDIT"])
def test_wrong_points_are_refused(mode):
    ob = made()
    bpy.ops.object.mode_set(mode=mode)
    before = read_points(ob)
    with pytest.raises(ValueError, match="points: 14, but the cage Fender Cage has 15"):
        write_points(ob, before[:14])
    broken = before.copy()
    broken[3, 1] = np.inf
    with pytest.raises(ValueError, match="not finite"):
        write_points(ob, broken)
    assert_array_equal(read_points(ob), before)


@pytest.mark.parametrize("mode", ["OBJECT", "EDIT"])
def test_seat_is_kept_in_both_modes(mode):
    seat = np.arange(15) % 4 == 1
    ob = made(seat=seat)
    bpy.ops.object.mode_set(mode=mode)
    assert_array_equal(read_seat(ob), seat)
    write_seat(ob, ~seat)
    assert_array_equal(read_seat(ob), ~seat)
    bpy.ops.object.mode_set(mode="OBJECT")
    assert_array_equal(read_seat(ob), ~seat)


def test_lost_seat_attribute_reads_as_no_seat():
    ob = made(seat=np.ones(15, bool))
    ob.data.attributes.remove(ob.data.attributes["fenderwright_seat"])
    assert not read_seat(ob).any()
    write_seat(ob, np.ones(15, bool))
    assert read_seat(ob).all()


def test_object_that_is_no_mesh_is_named():
    camera = bpy.data.objects.new("Camera", bpy.data.cameras.new("Camera"))
    assert cage_object_problems(camera) == [("not_mesh", "Camera is of type CAMERA, a cage is a mesh")]
    assert repair(camera) == cage_object_problems(camera)
    with pytest.raises(TypeError, match="a mesh object is needed"):
        read_cage(camera)


@pytest.mark.parametrize("mode", ["OBJECT", "EDIT"])
@pytest.mark.parametrize(
    "matrix, how",
    [
        (Matrix.Translation((5, 0, 10)), "moved"),
        (Matrix.Rotation(math.radians(20), 4, "X"), "scaled or rotated"),
        (Matrix.Diagonal((1, 1.2, 1.2, 1)), "scaled or rotated"),
        (Matrix.Diagonal((1, -1, 1, 1)), "scaled or rotated"),
    ],
)
def test_transform_of_the_object_is_named_and_applied(mode, matrix, how):
    ob = made()
    bpy.ops.object.mode_set(mode=mode)
    world = np.array(matrix) @ np.vstack([read_points(ob).T, np.ones(15)])
    ob.matrix_world = matrix
    bpy.context.view_layer.update()
    problem = cage_object_problems(ob)[0]
    assert problem == ("transform", f"Fender Cage is {how} as an object, its mesh no longer lies in wheel axes")
    assert problem.stops and problem.repairable
    left = repair(ob)
    assert all(other.code not in ("transform", "inside_out", "winding") for other in left)
    assert_allclose(read_points(ob), world[:3].T, atol=1e-4)
    bpy.context.view_layer.update()
    assert_allclose(np.array(ob.matrix_world), np.eye(4), atol=1e-7)


def test_transform_by_a_parent_is_applied_too():
    ob, parent = made(), bpy.data.objects.new("Bike", None)
    bpy.context.collection.objects.link(parent)
    parent.location = (0.0, 4.0, 0.0)
    ob.parent = parent
    bpy.context.view_layer.update()
    before = read_points(ob)
    assert codes(ob) == ["transform"]
    assert repair(ob) == []
    assert_allclose(read_points(ob), before + [0.0, 4.0, 0.0], atol=1e-4)


def test_applying_a_transform_leaves_another_user_of_the_mesh_alone():
    ob = made()
    other = bpy.data.objects.new("Other", ob.data)
    before = read_points(ob)
    ob.location.z = 3.0
    bpy.context.view_layer.update()
    repair(ob)
    assert_array_equal(read_points(other), before)


MODIFIER_FAULTS = {
    "no mirror": (lambda ob: ob.modifiers.remove(ob.modifiers[0]), "modifier_missing", "has no Mirror modifier"),
    "no subdivision": (
        lambda ob: ob.modifiers.remove(ob.modifiers[1]),
        "modifier_missing",
        "has no Subdivision Surface modifier",
    ),
    "reordered": (lambda ob: ob.modifiers.move(0, 1), "modifier_order", "are not Mirror, then Subdivision Surface"),
    "another before": (lambda ob: (ob.modifiers.new("B", "BEVEL"), ob.modifiers.move(2, 0)), "modifier_order", "are not Mirror"),
    "mirror off": (lambda ob: setattr(ob.modifiers[0], "show_viewport", False), "modifier_settings", "Realtime"),
    "axis": (lambda ob: setattr(ob.modifiers[0], "use_axis", (False, True, False)), "modifier_settings", "Mirror Axis"),
    "no merge": (lambda ob: setattr(ob.modifiers[0], "use_mirror_merge", False), "modifier_settings", "Merge"),
    "simple": (lambda ob: setattr(ob.modifiers[1], "subdivision_type", "SIMPLE"), "modifier_settings", "Subdivision Type"),
    "no limit": (lambda ob: setattr(ob.modifiers[1], "use_limit_surface", False), "modifier_settings", "Limit Surface"),
    "quality": (lambda ob: setattr(ob.modifiers[1], "quality", 1), "modifier_settings", "Quality"),
    "level": (lambda ob: setattr(ob.modifiers[1], "levels", 0), "modifier_settings", "Levels"),
}


@pytest.mark.parametrize("name", MODIFIER_FAULTS)
def test_modifier_fault_is_named_and_mended(name):
    fault, code, words = MODIFIER_FAULTS[name]
    ob = made()
    fault(ob)
    problems = cage_object_problems(ob)
    assert [problem.code for problem in problems] == [code]
    assert words in problems[0].sentence
    count = len(ob.modifiers)
    assert repair(ob) == []
    assert [modifier.type for modifier in ob.modifiers][:2] == ["MIRROR", "SUBSURF"]
    assert len(ob.modifiers) >= count
    assert cage_modifiers(ob).level == 4


def test_boundary_mode_and_level_are_the_builders_choice():
    ob = made()
    ob.modifiers[1].boundary_smooth = "PRESERVE_CORNERS"
    ob.modifiers[1].levels = 2
    ob.modifiers.remove(ob.modifiers[0])
    repair(ob)
    assert cage_modifiers(ob).keep_corners and cage_modifiers(ob).level == 2


@pytest.mark.parametrize("mode", ["OBJECT", "EDIT"])
def test_turned_faces_are_named_and_turned_back(mode):
    cage = fender_cage()
    faces = cage.topology.corners.reshape(-1, 4).tolist()
    faces[2] = faces[2][::-1]
    ob = made(Cage(topology_of_faces(15, faces, on_plane=cage.topology.on_plane), cage.points))
    bpy.ops.object.mode_set(mode=mode)
    assert codes(ob) == ["winding"]
    assert repair(ob) == []


@pytest.mark.parametrize("mode", ["OBJECT", "EDIT"])
def test_cage_inside_out_is_named_and_turned(mode):
    cage = fender_cage()
    faces = cage.topology.corners.reshape(-1, 4)[:, ::-1].tolist()
    ob = made(Cage(topology_of_faces(15, faces, on_plane=cage.topology.on_plane), cage.points))
    bpy.ops.object.mode_set(mode=mode)
    assert codes(ob) == ["inside_out"]
    assert repair(ob) == []


@pytest.mark.parametrize("mode", ["OBJECT", "EDIT"])
def test_loose_points_and_edges_are_noted_but_stop_nothing(mode):
    ob = made()
    edit_mode()
    bm = bmesh.from_edit_mesh(ob.data)
    first, second = bm.verts.new((10, 0, 400)), bm.verts.new((20, 0, 400))
    bm.edges.new((first, second))
    bmesh.update_edit_mesh(ob.data)
    bpy.ops.object.mode_set(mode=mode)
    problems = cage_object_problems(ob)
    assert [problem.code for problem in problems] == ["loose_points", "loose_edges"]
    assert not any(problem.stops for problem in problems)
    assert "2 points belong to no face" in problems[0].sentence
    assert "1 edge of the cage belongs to no face" in problems[1].sentence


@pytest.mark.parametrize("mode", ["OBJECT", "EDIT"])
def test_edge_in_three_faces_stops_and_is_left_to_the_builder(mode):
    ob = made()
    edit_mode()
    bm = bmesh.from_edit_mesh(ob.data)
    bm.verts.ensure_lookup_table()
    bm.faces.new((bm.verts[4], bm.verts[7], bm.verts.new((30, 0, 500))))
    bmesh.update_edit_mesh(ob.data)
    bpy.ops.object.mode_set(mode=mode)
    problem = cage_object_problems(ob)[0]
    assert problem.code == "no_skin" and problem.stops and not problem.repairable
    assert "1 edge is in more than two faces, first between the points 4 and 7" in problem.sentence
    assert "no_skin" in [left.code for left in repair(ob)]


def test_points_across_the_mirror_plane_are_named():
    ob = made()
    points = read_points(ob)
    points[[1, 4], 0] = -20.0
    write_points(ob, points)
    problem = cage_object_problems(ob)[0]
    assert problem == (
        "across_plane",
        "2 points of the half lie across the mirror plane, first point 1: move it back, or use Make Half",
    )


def test_shape_keys_are_named():
    ob = made()
    ob.shape_key_add(name="Basis")
    assert codes(ob) == ["shape_keys"]


def test_points_that_are_not_finite_are_named():
    ob = made()
    ob.data.attributes["position"].data[3].vector = (math.nan, 0.0, 0.0)
    assert codes(ob) == ["not_finite"]
    assert [problem.code for problem in repair(ob)] == ["not_finite"]


def test_cage_without_faces_is_named():
    ob = made()
    ob.data.clear_geometry()
    assert cage_object_problems(ob)[0] == ("no_skin", "the cage has no face")
    edit_mode()
    assert cage_object_problems(ob)[0] == ("no_skin", "the cage has no face")


@pytest.mark.parametrize("mode", ["OBJECT", "EDIT"])
def test_points_that_a_loose_edge_hangs_on_are_sharp_as_the_host_has_them(mode: str) -> None:
    ob = made()
    bm = bmesh.new()
    bm.from_mesh(ob.data)
    bm.verts.ensure_lookup_table()
    corner = bm.verts[7]
    bm.edges.new((corner, bm.verts.new(corner.co * 1.2)))
    bm.to_mesh(ob.data)
    bm.free()
    bpy.context.view_layer.objects.active = ob
    bpy.ops.object.mode_set(mode=mode)
    cage = read_cage(ob)
    assert cage.topology.point_creases[7] == 1.0
    ours = skin(cage, skin_stencil(cage.topology, 4)).points
    evaluated = ob.evaluated_get(bpy.context.evaluated_depsgraph_get())
    mesh = evaluated.to_mesh()
    shown = np.array([vertex.co[:] for vertex in mesh.vertices])
    evaluated.to_mesh_clear()
    assert KDTree(shown).query(ours)[0].max() < 1e-3
