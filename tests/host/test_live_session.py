# SPDX-License-Identifier: GPL-3.0-or-later
"""Shaping by the host's operators: after each the skin that the host shows is clear and symmetric, and nothing is lost."""

from collections.abc import Callable, Iterator

import bmesh
import bpy
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from addon.host.cage_mesh import read_points
from addon.ui.settings import settings_of
from tests.host.extension_scene import cage, extension, room, seeded, select, shown_skin, state

OPERATIONS = 5000
FLOAT_MM = 0.0015
"""The guard's tolerance of 0.001 mm, and 32 bits of the host's coordinates at 400 mm."""


@pytest.fixture(autouse=True)
def troubles() -> Iterator[list[str]]:
    with extension() as found:
        yield found
    assert not found, "\n".join(found)


def in_edit_mode(level: int = 3) -> bpy.types.Object:
    ob = seeded(level=level)
    bpy.ops.object.mode_set(mode="EDIT")
    return ob


def run(operator: Callable[..., set[str]], **properties: object) -> bool:
    """Run an operator with undo; False if the host found nothing to do."""
    try:
        return operator("EXEC_DEFAULT", True, **properties) == {"FINISHED"}
    except RuntimeError:  # what a builder sees as a message: nothing selected, no such face
        return False


def front(vert: bmesh.types.BMVert) -> bool:
    return vert.co.y < -150.0


def check(when: str = "") -> None:
    assert not [problem for problem in state().problems if problem.stops], when
    assert room() >= -FLOAT_MM, when
    skin = shown_skin()
    assert_allclose(skin[:, 0].max(), -skin[:, 0].min(), atol=1e-4, err_msg=when)


TRANSFORMS = {
    "move": lambda: run(bpy.ops.transform.translate, value=(0.0, 0.0, -150.0)),
    "rotate": lambda: run(bpy.ops.transform.rotate, value=1.2, orient_axis="X"),
    "scale": lambda: run(bpy.ops.transform.resize, value=(0.3, 0.3, 0.3)),
    "proportional": lambda: run(
        bpy.ops.transform.translate, value=(0.0, 0.0, -90.0), use_proportional_edit=True, proportional_size=200.0
    ),
    "extrude": lambda: run(bpy.ops.mesh.extrude_region_move, TRANSFORM_OT_translate={"value": (0.0, 40.0, -90.0)}),
    "shrink": lambda: run(bpy.ops.transform.shrink_fatten, value=-60.0),
    "subdivide": lambda: run(bpy.ops.mesh.subdivide, number_cuts=1),
    "delete": lambda: run(bpy.ops.mesh.delete, type="FACE"),
    "merge": lambda: run(bpy.ops.mesh.merge, type="CENTER"),
    "bevel": lambda: run(bpy.ops.mesh.bevel, offset=6.0),
    "inset": lambda: run(bpy.ops.mesh.inset, thickness=4.0),
    "dissolve": lambda: run(bpy.ops.mesh.dissolve_edges),
    "smooth": lambda: run(bpy.ops.mesh.vertices_smooth, factor=1.0, repeat=20),
}


@pytest.mark.parametrize("name", list(TRANSFORMS))
def test_operators_in_edit_mode_leave_a_clear_skin(name: str) -> None:
    in_edit_mode()
    select(front)
    TRANSFORMS[name]()
    if any(problem.stops for problem in state().problems):  # a cage without a skin is named, and undone without loss
        assert state().problems[0].sentence
        bpy.ops.ed.undo()
    check(name)


def test_points_that_are_not_moved_stay_to_the_last_bit() -> None:
    in_edit_mode()
    moved = select(front)
    before = read_points(cage())
    rng = np.random.default_rng(1)
    for _ in range(100):
        run(bpy.ops.transform.translate, value=tuple(rng.normal(0.0, 30.0, 3)))
    still = before[:, 1] >= -150.0
    assert 0 < moved < len(before)
    assert_array_equal(read_points(cage())[still], before[still])
    check()


def test_undo_and_redo_walk_through_what_was_shown() -> None:
    in_edit_mode()
    bpy.ops.ed.undo_push(message="start")
    select(front)
    shown = [shown_skin()]
    for step in range(5):
        assert run(bpy.ops.transform.translate, value=(0.0, 5.0 * step, -40.0))
        shown.append(shown_skin())
        check(f"step {step}")
    for back in (4, 3, 2, 1):
        bpy.ops.ed.undo()
        assert_allclose(shown_skin(), shown[back], atol=1e-3)
        assert room() >= -FLOAT_MM
    for forth in (2, 3, 4, 5):
        bpy.ops.ed.redo()
        assert_allclose(shown_skin(), shown[forth], atol=1e-3)
        assert room() >= -FLOAT_MM


def test_object_mode_scripts_are_held_too() -> None:
    ob = seeded(level=3)
    for vertex in ob.data.vertices:
        vertex.co.z -= 50.0
    ob.data.update_tag()
    bpy.context.view_layer.update()
    bpy.context.view_layer.update()
    check()


def test_a_larger_gap_while_editing_lifts_the_cage() -> None:
    in_edit_mode()
    settings_of(bpy.context.scene).clearance.gap = 17.0
    bpy.context.view_layer.update()
    bpy.context.view_layer.update()
    assert state().facts.job.clearance.gap == 17.0
    check()


def test_modes() -> None:
    in_edit_mode()
    select(front)
    settings = settings_of(bpy.context.scene)
    settings.hold = "OFF"
    run(bpy.ops.transform.translate, value=(0.0, 0.0, -60.0))
    assert room() < -10.0 and state().shaped is None
    settings.hold = "WARN"
    bpy.context.view_layer.update()
    assert room() < -10.0 and not state().shaped.clear
    settings.hold = "HOLD"
    bpy.context.view_layer.update()
    bpy.context.view_layer.update()
    check()


BROKEN: dict[str, tuple[Callable[[bpy.types.Object], object], str]] = {
    "scaled": (lambda ob: setattr(ob, "scale", (1.0, 1.2, 1.0)), "scaled or rotated"),
    "moved": (lambda ob: setattr(ob, "location", (0.0, 0.0, 5.0)), "is moved as an object"),
    "no mirror": (lambda ob: ob.modifiers.remove(ob.modifiers[0]), "no Mirror modifier"),
    "no subdivision": (lambda ob: ob.modifiers.remove(ob.modifiers[1]), "no Subdivision Surface modifier"),
    "order": (lambda ob: ob.modifiers.move(0, 1), "not Mirror, then Subdivision"),
}


@pytest.mark.parametrize("name", list(BROKEN))
def test_a_broken_cage_is_named_and_repaired(name: str) -> None:
    ob = seeded(level=3)
    points = read_points(ob)
    change, says = BROKEN[name]
    change(ob)
    bpy.context.view_layer.update()
    assert any(says in problem.sentence for problem in state().problems), state().problems
    assert bpy.ops.fenderwright.repair_cage("EXEC_DEFAULT", True) == {"FINISHED"}
    assert not state().problems
    if name not in ("scaled", "moved"):
        assert_array_equal(read_points(ob), points)
    check()


def test_renamed_joined_and_deleted() -> None:
    ob = seeded(level=3)
    ob.name = "something else"
    ob.data.update_tag()
    bpy.context.view_layer.update()
    check("renamed")
    other = bpy.data.meshes.new("other")
    other.from_pydata([(500.0, 0.0, 0.0), (520.0, 0.0, 0.0), (520.0, 20.0, 0.0)], [], [(0, 1, 2)])
    beside = bpy.data.objects.new("other", other)
    bpy.context.scene.collection.objects.link(beside)
    for item in (ob, beside):
        item.select_set(True)
    bpy.context.view_layer.objects.active = ob
    bpy.ops.object.join()
    bpy.context.view_layer.update()
    check("joined")
    bpy.data.objects.remove(ob)
    bpy.context.view_layer.update()
    assert cage() is None and state().facts is not None
    assert not bpy.ops.fenderwright.restore_clearance.poll()


def test_two_scenes_do_not_mix() -> None:
    first = bpy.context.scene
    seeded("front_17", level=3)
    second = bpy.data.scenes.new("second")
    bpy.context.window.scene = second
    seeded("front_21", level=3)
    assert settings_of(first).cage_object != settings_of(second).cage_object
    assert state().facts.job.name == "front 21"
    check("second")
    bpy.context.window.scene = first
    assert state().facts.job.name == "front 17"
    check("first")


def random_operation(rng: np.random.Generator) -> None:
    """One operator with random settings on a random part of the cage, as a careless builder might."""
    center = rng.choice(read_points(cage()))
    reach = rng.uniform(20.0, 120.0)
    select(lambda vert: bool(np.linalg.norm(np.array(vert.co) - center) < reach))
    many = len(read_points(cage())) > 60
    kind = rng.integers(0, 16)
    if kind < 6:
        run(bpy.ops.transform.translate, value=tuple(rng.normal(0.0, 40.0, 3)))
    elif kind < 8:
        run(bpy.ops.transform.resize, value=tuple(rng.uniform(0.3, 1.6, 3)))
    elif kind < 10:
        run(bpy.ops.transform.rotate, value=rng.normal(0.0, 0.7), orient_axis=str(rng.choice(["X", "Y", "Z"])))
    elif kind == 10 and not many:
        run(bpy.ops.mesh.extrude_region_move, TRANSFORM_OT_translate={"value": tuple(rng.normal(0.0, 40.0, 3))})
    elif kind == 11 and not many:
        run(bpy.ops.mesh.subdivide, number_cuts=1)
    elif kind == 12:
        run(bpy.ops.mesh.vertices_smooth, factor=0.5)
    elif kind == 13 and many:
        run(bpy.ops.mesh.dissolve_limited, angle_limit=3.0)
    elif kind == 14:
        bpy.ops.ed.undo()
    else:
        bpy.ops.ed.redo() if rng.random() < 0.5 and bpy.ops.ed.redo.poll() else bpy.ops.ed.undo()


def test_a_random_session_ends_clear_and_symmetric() -> None:
    rng = np.random.default_rng(2026)
    in_edit_mode(level=2)
    bpy.ops.ed.undo_push(message="start")
    restarts = 0
    for number in range(OPERATIONS):
        if cage() is None or cage().mode != "EDIT" or len(read_points(cage())) == 0 or len(read_points(cage())) > 90:
            restarts += 1
            if cage() is not None and cage().mode == "EDIT":
                bpy.ops.object.mode_set(mode="OBJECT")
            in_edit_mode(level=2)
        random_operation(rng)
        if cage() is not None and any(problem.stops for problem in state().problems):
            bpy.ops.ed.undo()  # a cage without a skin: the builder takes it back
            if any(problem.stops for problem in state().problems):
                bpy.ops.object.mode_set(mode="OBJECT")
                in_edit_mode(level=2)
                restarts += 1
        shaped = state().shaped
        assert shaped is None or shaped.clear, f"operation {number}"
        if number % 50 == 0 and shaped is not None:
            check(f"operation {number}")
    assert restarts < OPERATIONS / 20
    check("end")
