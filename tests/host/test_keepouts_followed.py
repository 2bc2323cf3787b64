# SPDX-License-Identifier: GPL-3.0-or-later
"""Mesh keep-outs are followed by readout and guard, whatever happens to their objects; nothing explodes."""

from collections.abc import Callable

import bmesh
import bpy
import numpy as np
import pytest

from addon.core.clearance.keepout import shell_remarks
from tests.host.extension_scene import cage, run, seeded, settings, shown_skin, state, update
from tests.host.scene_truth import keep_out, mesh_object, true_excess

pytestmark = pytest.mark.usefixtures("troubles")

SIDE = (40.0, 153.0, 306.0)
"""A place of the seeded skin, behind the mount."""
TRUE_MM = 0.01


def out_from(place: tuple[float, float, float], mm: float) -> tuple[float, float, float]:
    """mm further from the axle."""
    radius = float(np.hypot(place[1], place[2]))
    return (place[0], place[1] * (1.0 + mm / radius), place[2] * (1.0 + mm / radius))


def ball_at(mm: float, hold: str = "HOLD") -> bpy.types.Object:
    """A ball of 60 mm as a keep-out, with its middle mm over the skin."""
    seeded(level=3)
    settings().hold = hold
    ball = mesh_object("ball", out_from(SIDE, mm), 60.0, segments=32)
    keep_out(ball)
    update()
    return ball


def told() -> float:
    shaped = state().shaped
    assert shaped is not None, (state().problem, state().problems)
    return shaped.worst.excess_mm


def check_true() -> None:
    assert told() == pytest.approx(true_excess(), abs=TRUE_MM)


def edited(ball: bpy.types.Object) -> None:
    bm = bmesh.new()
    bm.from_mesh(ball.data)
    bmesh.ops.translate(bm, vec=(0.0, -6.0, -12.0), verts=bm.verts[:])
    bm.to_mesh(ball.data)
    bm.free()
    ball.data.update()


def displaced(ball: bpy.types.Object) -> None:
    ball.modifiers.new("Displace", "DISPLACE").strength = 10.0


def parented(ball: bpy.types.Object) -> None:
    parent = bpy.data.objects.new("parent", None)
    bpy.context.scene.collection.objects.link(parent)
    ball.parent = parent
    parent.location.z = -12.0


CHANGES: dict[str, Callable[[bpy.types.Object], object]] = {
    "moved": lambda ball: setattr(ball, "location", out_from(SIDE, 40.0)),
    "scaled": lambda ball: setattr(ball, "scale", (1.3, 1.3, 1.3)),
    "scaled along one axis": lambda ball: setattr(ball, "scale", (1.0, 1.0, 1.4)),
    "mirrored": lambda ball: setattr(ball, "scale", (-1.0, 1.2, 1.2)),
    "on the other side": lambda ball: setattr(ball, "location", (-40.0, *out_from(SIDE, 40.0)[1:])),
    "edited": edited,
    "displaced": displaced,
    "parented": parented,
    "hidden and moved": lambda ball: (ball.hide_set(True), setattr(ball, "location", out_from(SIDE, 40.0))),
    "disabled and moved": lambda ball: (setattr(ball, "hide_viewport", True), setattr(ball, "location", out_from(SIDE, 40.0))),
    "another mesh": lambda ball: setattr(ball, "data", mesh_object("other", (0.0, 0.0, 900.0), 80.0).data),
}


@pytest.mark.parametrize("name", list(CHANGES))
def test_readout_tells_the_keepout_as_it_is_now(name: str) -> None:
    """A second change of the kind is noticed as well as the first: against libigl on the evaluated scene."""
    ball = ball_at(52.0, hold="WARN")
    check_true()
    before = told()
    CHANGES[name](ball)
    update()
    if name != "disabled and moved":  # the host itself works out nothing of it
        check_true()
    assert told() < before - 2.0
    assert "ball" in state().shaped.worst.name


def test_guard_gives_way_and_comes_back() -> None:
    ball = ball_at(52.0)
    skin = shown_skin()
    for mm in (44.0, 41.0, 38.0, 36.0):
        ball.location = out_from(SIDE, mm)
        update()
        check_true()
        assert state().shaped.clear and told() > -0.01
    assert np.linalg.norm(shown_skin() - skin, axis=1).max() > 3.0
    ball.location = out_from(SIDE, 70.0)
    update()
    np.testing.assert_allclose(shown_skin(), skin, atol=1e-4)


def test_a_keepout_of_the_other_side_pushes_the_half() -> None:
    ball = ball_at(52.0)
    ball.location = (-SIDE[0], *out_from(SIDE, 38.0)[1:])
    update()
    check_true()
    assert state().shaped.clear
    assert shown_skin()[:, 0].min() < -30.0


def test_a_cage_is_not_thrown_about_and_the_place_is_told() -> None:
    """A block pushed down through the crown onto the tire: the fender stays near where it was, and comes back with the gap."""
    seeded(level=3)
    top = shown_skin()[:, 2].max()
    block = mesh_object("block", (0.0, 0.0, top + 80.0))
    keep_out(block)
    update()
    width, skin = np.ptp(shown_skin()[:, 0]), shown_skin()
    refused = 0
    for above in (30.0, 24.0, 18.0, 15.0, 12.0, 15.0):
        block.location.z = top + above
        update()
        check_true()
        moved = np.linalg.norm(shown_skin() - skin, axis=1).max()
        assert moved < 45.0 and abs(np.ptp(shown_skin()[:, 0]) - width) < 20.0, above
        if not state().shaped.clear:
            refused += 1
            trouble = state().trouble
            assert trouble is not None and "block" in trouble.sentence and "no sane move" in trouble.sentence
            assert np.linalg.norm(trouble.place - state().shaped.skin[state().shaped.worst.index]) < 1e-9
            with pytest.raises(RuntimeError, match="no sane move of the cage"):
                bpy.ops.fenderwright.restore_clearance()
    assert refused
    settings().keepouts[-1].gap = 20.0
    update()
    check_true()
    assert abs(np.ptp(shown_skin()[:, 0]) - width) < 20.0
    block.location.z = top + 200.0
    update()
    np.testing.assert_allclose(shown_skin(), skin, atol=1e-4)


def test_restore_and_a_new_cage_take_the_keepout_where_it_is() -> None:
    """Before any update of the host, as by a script: operators look for themselves."""
    ball = ball_at(70.0)
    ball.location = out_from(SIDE, 38.0)
    assert run(bpy.ops.fenderwright.restore_clearance)
    check_true()
    assert state().shaped.clear
    ball.location = out_from(SIDE, 300.0)
    assert run(bpy.ops.fenderwright.seed_cage)
    there = np.array(out_from(SIDE, 20.0))
    assert np.linalg.norm(shown_skin() - there, axis=1).min() < 25.0, "the new cage bulges round the old place"
    check_true()


def test_a_renamed_object_is_followed_under_its_new_name() -> None:
    ball = ball_at(52.0, hold="WARN")
    ball.name = "something else"
    update()
    assert state().facts is not None and state().facts.job.keepouts[-1].object == "something else"
    ball.location = out_from(SIDE, 40.0)
    update()
    check_true()
    assert settings().keepouts[-1].mesh_object == ball


def test_deleted_and_brought_back() -> None:
    ball = ball_at(40.0, hold="WARN")
    bpy.ops.ed.undo_push(message="before")
    bpy.ops.object.select_all(action="DESELECT")
    ball.select_set(True)
    assert run(bpy.ops.object.delete)
    update()
    assert state().shaped is None and 'holds no mesh object "ball"' in state().problem
    bpy.ops.ed.undo()
    update()
    check_true()
    assert "ball" in state().shaped.worst.name
    bpy.data.objects.remove(bpy.data.objects["ball"])
    update()
    assert state().shaped is None and 'holds no mesh object "ball"' in state().problem
    mesh_object("ball", out_from(SIDE, 40.0), 60.0, segments=32)
    update()
    check_true()


def test_undo_brings_the_keepout_back() -> None:
    ball = ball_at(60.0, hold="WARN")
    bpy.ops.ed.undo_push(message="away")
    before = told()
    ball.location = out_from(SIDE, 40.0)
    bpy.ops.ed.undo_push(message="near")
    update()
    assert told() < before - 2.0
    bpy.ops.ed.undo()
    update()
    assert told() == pytest.approx(before, abs=TRUE_MM)
    check_true()


def test_an_opened_mesh_and_a_disabled_modifier_are_told() -> None:
    ball = ball_at(52.0)
    bm = bmesh.new()
    bm.from_mesh(ball.data)
    whole = ball.data.copy()
    bmesh.ops.delete(bm, geom=bm.faces[:1], context="FACES_ONLY")
    bm.to_mesh(ball.data)
    bm.free()
    update()
    facts = state().facts
    assert state().shaped is not None and facts is not None and "is not closed" in shell_remarks(facts.field.limits)[0]
    ball.data = whole
    update()
    check_true()
    facts = state().facts
    assert facts is not None and shell_remarks(facts.field.limits) == ()
    displaced(ball)
    ball.hide_viewport = True
    update()
    assert state().shaped is None and "is disabled in the viewport" in state().problem
    ball.hide_viewport = False
    update()
    check_true()
    ball.hide_set(True)
    ball.modifiers[0].strength = 12.0
    update()
    check_true()


def test_build_takes_the_keepout_where_it_is() -> None:
    ball = ball_at(70.0)
    settings().hold = "OFF"
    ball.location = out_from(SIDE, 35.0)
    with pytest.raises(RuntimeError, match="ball"):
        bpy.ops.fenderwright.build_solid()
    assert cage().visible_get()
