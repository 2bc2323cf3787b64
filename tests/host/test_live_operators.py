# SPDX-License-Identifier: GPL-3.0-or-later
"""Each of the host's operators on the cage: the skin that the host shows is then clear and symmetric, or the fault is named."""

from typing import Any

import bmesh
import bpy
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy.spatial import KDTree

from addon.core.base.arrays import Array
from addon.core.skin.cage import CageTopology, same_faces
from addon.host.cage.cage_mesh import read_cage, read_points
from addon.ui.state.scene_settings import settings_of
from tests.host.extension_scene import (
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

FRONT_Y = -70.0
"""The front end of the cage: two rows of points and the faces between them."""


pytestmark = pytest.mark.usefixtures("troubles")


MESH, MOVE = bpy.ops.mesh, bpy.ops.transform
Operation = tuple[Any, dict[str, object]]
MOVES: dict[str, Operation] = {
    "move": (MOVE.translate, {"value": (0.0, 0.0, -150.0)}),
    "move across the plane": (MOVE.translate, {"value": (-90.0, 0.0, 0.0)}),
    "rotate": (MOVE.rotate, {"value": 1.2, "orient_axis": "X"}),
    "scale": (MOVE.resize, {"value": (0.3, 0.3, 0.3)}),
    "scale to a point": (MOVE.resize, {"value": (0.0, 0.0, 0.0)}),
    "to sphere": (MOVE.tosphere, {"value": 0.8}),
    "push": (MOVE.push_pull, {"value": -60.0}),
    "shrink": (MOVE.shrink_fatten, {"value": -60.0}),
    "mirror": (MOVE.mirror, {"constraint_axis": (False, True, False)}),
    "randomize": (MOVE.vertex_random, {"offset": 30.0}),
    "slide points": (MOVE.vert_slide, {"value": 0.7}),
    "smooth": (MESH.vertices_smooth, {"factor": 1.0, "repeat": 20}),
    "smooth by Laplace": (MESH.vertices_smooth_laplacian, {"repeat": 3}),
}
CHANGES: dict[str, Operation] = {
    "crease": (MOVE.edge_crease, {"value": 1.0}),
    "crease points": (MOVE.vert_crease, {"value": 1.0}),
    "extrude": (MESH.extrude_region_move, {"TRANSFORM_OT_translate": {"value": (0.0, 40.0, -90.0)}}),
    "extrude along normals": (MESH.extrude_region_shrink_fatten, {"TRANSFORM_OT_shrink_fatten": {"value": -30.0}}),
    "subdivide": (MESH.subdivide, {"number_cuts": 1}),
    "bevel": (MESH.bevel, {"offset": 6.0}),
    "inset": (MESH.inset, {"thickness": 4.0}),
    "offset edge loops": (MESH.offset_edge_loops, {}),
    "delete faces": (MESH.delete, {"type": "FACE"}),
    "delete points": (MESH.delete, {"type": "VERT"}),
    "delete edges": (MESH.delete, {"type": "EDGE"}),
    "merge": (MESH.merge, {"type": "CENTER"}),
    "merge by distance": (MESH.remove_doubles, {"threshold": 60.0}),
    "collapse": (MESH.edge_collapse, {}),
    "dissolve edges": (MESH.dissolve_edges, {}),
    "dissolve faces": (MESH.dissolve_faces, {}),
    "dissolve points": (MESH.dissolve_verts, {}),
    "triangulate": (MESH.quads_convert_to_tris, {}),
    "poke": (MESH.poke, {}),
    "unsubdivide": (MESH.unsubdivide, {}),
    "duplicate": (MESH.duplicate_move, {"TRANSFORM_OT_translate": {"value": (0.0, -10.0, -60.0)}}),
    "split": (MESH.split, {}),
    "split edges": (MESH.edge_split, {}),
    "symmetrize": (MESH.symmetrize, {"direction": "NEGATIVE_X"}),
    "separate": (MESH.separate, {"type": "SELECTED"}),
    "sort": (MESH.sort_elements, {"type": "REVERSE", "elements": {"VERT", "FACE"}}),
}
NAMED: dict[str, tuple[Any, dict[str, object], str]] = {
    "extrude faces apart": (
        MESH.extrude_faces_move,
        {"TRANSFORM_OT_shrink_fatten": {"value": -30.0}},
        "in the mirror plane on top of the mirror image",
    ),
    "flip": (MESH.flip_normals, {}, "wound against each other"),
    "solidify": (MESH.solidify, {"thickness": 5.0}, "in more than two faces"),
    "hull": (MESH.convex_hull, {}, "in more than two faces"),
    "wireframe": (MESH.wireframe, {"thickness": 3.0}, "across the mirror plane"),
    "add a cube": (MESH.primitive_cube_add, {"size": 30.0}, "across the mirror plane"),
}


def grab_front() -> tuple[CageTopology, Array, Array]:
    """Edit a seeded cage with its front end selected; its faces and points, and which points are selected."""
    in_edit_mode()
    select(lambda vert: vert.co.y < FRONT_Y)
    bpy.ops.ed.undo_push(message="start")
    before = read_cage(cage())
    chosen = before.points[:, 1] < FRONT_Y
    assert 4 < chosen.sum() < len(chosen) / 2
    return before.topology, before.points, chosen


@pytest.mark.parametrize("name", list(MOVES))
def test_moves_leave_a_clear_skin_and_all_other_points_alone(name: str) -> None:
    faces, points, chosen = grab_front()
    operator, properties = MOVES[name]
    assert run(operator, **properties)
    now = read_cage(cage())
    assert same_faces(now.topology, faces)
    assert (now.points[chosen] != points[chosen]).any(), "nothing has moved"
    assert_array_equal(now.points[~chosen], points[~chosen])
    check(name)
    bpy.ops.ed.undo()
    assert_array_equal(read_points(cage()), points)
    check("taken back")


@pytest.mark.parametrize("name", list(CHANGES))
def test_changes_of_the_faces_leave_a_clear_skin(name: str) -> None:
    faces, points, _ = grab_front()
    operator, properties = CHANGES[name]
    settings_of(bpy.context.scene).hold = "WARN"
    update()
    assert run(operator, **properties)
    update()
    asked, was_clear = read_cage(cage()), state().shaped.clear
    assert asked.topology.key != faces.key or (asked.points != points).any(), "nothing has changed"
    bpy.ops.ed.undo()
    settings_of(bpy.context.scene).hold = "HOLD"
    update()
    assert_array_equal(read_points(cage()), points)
    assert run(operator, **properties)
    now = read_cage(cage())
    # the host does not number new points alike each time
    assert (len(now.points), now.topology.face_count) == (len(asked.points), asked.topology.face_count)
    if was_clear:  # nothing is moved, but what came near the mirror plane is put on it
        assert_allclose(KDTree(asked.points).query(now.points)[0], 0.0, atol=1e-4)
    check(name)
    bpy.ops.ed.undo()
    assert_array_equal(read_points(cage()), points)
    check("taken back")


@pytest.mark.parametrize("name", list(NAMED))
def test_what_leaves_no_skin_is_named_and_taken_back_without_loss(name: str) -> None:
    _, points, _ = grab_front()
    operator, properties, says = NAMED[name]
    assert run(operator, **properties)
    assert any(says in sentence for sentence in stops()), stops()
    assert state().shaped is None
    bpy.ops.ed.undo()
    assert_array_equal(read_points(cage()), points)
    check("taken back")


def test_proportional_editing() -> None:
    _, points, chosen = grab_front()
    assert run(MOVE.translate, value=(0.0, 0.0, -90.0), use_proportional_edit=True, proportional_size=200.0)
    now = read_points(cage())
    assert (now[~chosen] != points[~chosen]).any()
    check()


def select_edges(edges: set[int]) -> None:
    """Select edges of the edited mesh by their number, and only them."""
    bm = bmesh.from_edit_mesh(cage().data)
    bpy.context.tool_settings.mesh_select_mode = (False, True, False)
    bm.select_mode = {"EDGE"}
    for edge in bm.edges:
        edge.select = edge.index in edges
    bm.select_flush_mode()
    bmesh.update_edit_mesh(cage().data)


def foremost_ring() -> set[int]:
    """Edges along the fender across its foremost row of faces, from the outer edge to the center."""
    bm = bmesh.from_edit_mesh(cage().data)
    bm.edges.index_update()
    loop = min(
        (edge.link_loops[0] for edge in bm.edges if edge.is_boundary and edge.verts[0].co.x > 50.0 and edge.verts[1].co.x > 50.0),
        key=lambda loop: min(vert.co.y for vert in loop.edge.verts),
    )
    if abs(loop.edge.verts[0].co.y - loop.edge.verts[1].co.y) < 10.0:  # the edge across the front end
        loop = loop.link_loop_next if loop.link_loop_next.edge.is_boundary else loop.link_loop_prev
    ring = {loop.edge.index}
    while True:
        opposite = loop.link_loop_next.link_loop_next
        ring.add(opposite.edge.index)
        if opposite.edge.is_boundary:
            return ring
        loop = opposite.link_loop_radial_next


def test_a_loop_is_cut() -> None:
    in_edit_mode()
    count = len(read_points(cage()))
    ring = foremost_ring()
    select_edges(ring)
    assert run(MESH.subdivide, number_cuts=1)
    bm = bmesh.from_edit_mesh(cage().data)
    assert len(bm.verts) == count + len(ring) and {len(face.verts) for face in bm.faces} == {4}
    check("cut")
    assert run(MOVE.translate, value=(0.0, 0.0, -60.0))
    check("pushed")


@pytest.mark.skipif(bpy.app.version < (5, 0, 0), reason="edge slide crashes this host itself when there is no window")
def test_edges_slide() -> None:
    in_edit_mode()
    points = read_points(cage())
    bm = bmesh.from_edit_mesh(cage().data)
    bm.edges.index_update()
    across = {edge.index for edge in bm.edges if all(-120.0 < vert.co.y < -80.0 for vert in edge.verts)}
    assert len(across) > 1
    select_edges(across)
    assert run(MOVE.edge_slide, value=0.9)
    assert (read_points(cage()) != points).any()
    check()


def test_hundred_drags_do_not_let_other_points_creep() -> None:
    _, points, chosen = grab_front()
    rng = np.random.default_rng(1)
    for _ in range(100):
        run(MOVE.translate, value=tuple(rng.normal(0.0, 30.0, 3)))
    assert_array_equal(read_points(cage())[~chosen], points[~chosen])
    check()


def test_object_mode_scripts_are_held_too() -> None:
    ob = seeded(level=3)
    for vertex in ob.data.vertices:
        vertex.co.z -= 50.0
    ob.data.update_tag()
    update()
    check()


def test_operators_in_object_mode_are_held_too() -> None:
    ob = seeded(level=3)
    count = len(read_points(ob))
    ob.scale = (1.0, 1.0, 0.8)
    assert run(bpy.ops.object.transform_apply, location=False, rotation=False, scale=True)
    update()
    check("scaled and applied")
    assert run(bpy.ops.object.shade_flat) and run(bpy.ops.object.duplicate)
    update()
    assert cage() == ob and len(read_points(ob)) == count
    check("duplicated")


def test_a_larger_gap_while_editing_lifts_the_cage() -> None:
    in_edit_mode()
    before = shown_skin()
    settings_of(bpy.context.scene).clearance.gap = 17.0
    update()
    assert state().facts.job.clearance.gap == 17.0
    check()
    assert np.abs(shown_skin() - before).max() > 0.5


def test_modes() -> None:
    in_edit_mode()
    select(lambda vert: vert.co.y < -150.0)
    settings = settings_of(bpy.context.scene)
    settings.hold = "OFF"
    run(MOVE.translate, value=(0.0, 0.0, -60.0))
    assert room() < -10.0 and state().shaped is None
    settings.hold = "WARN"
    update()
    assert room() < -10.0 and not state().shaped.clear
    settings.hold = "HOLD"
    update()
    check()
