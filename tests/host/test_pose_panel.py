# SPDX-License-Identifier: GPL-3.0-or-later
"""Sliders of travel and steering: stand-ins move, and the clearance at the pose is told."""

from collections.abc import Iterator

import bpy
import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.wheel_axes import radius_of
from addon.core.clearance.envelope import envelope
from addon.ui.state import session
from addon.ui.state.bike_pose import NOTHING_MOVES, anything_moves
from tests.host.extension_scene import DEMO, extension, settings


@pytest.fixture
def high() -> Iterator[None]:
    with extension():
        assert bpy.ops.fenderwright.load_sheet(filepath=str(DEMO / "front_high.toml")) == {"FINISHED"}
        frame = settings().keepouts.add()
        frame.name, frame.kind, frame.moves_with = "radiator", "box", "chassis"
        frame.center, frame.size = (0.0, 300.0, 760.0), (180.0, 30.0, 120.0)
        assert bpy.ops.fenderwright.seed_cage() == {"FINISHED"}
        bpy.context.view_layer.update()
        yield


def tire_axle() -> np.ndarray:
    ob = next(ob for ob in bpy.context.scene.collection.objects if ob.get("fenderwright") == "envelope")
    return np.array(ob.matrix_world)[:3, 3]


def test_sliders_move_tire_and_keepouts_and_tell_the_clearance(high: None) -> None:
    """At full bump the axle is 205 mm up the fork at a rake of 27 degrees; the skin's distance to the wheel there by hand."""
    state = session.of_scene(bpy.context.scene)
    assert anything_moves(state) and state.shaped is not None and state.facts is not None
    settings().pose_travel = 100.0
    up = np.array([0.0, np.sin(np.radians(27.0)), np.cos(np.radians(27.0))])
    assert_allclose(tire_axle(), 205.0 * up, atol=0.01)
    wheel = envelope(state.facts.job).wheel
    expected = wheel.distance(state.shaped.skin - 205.0 * up).min() - (
        state.facts.field.limits[0].required_mm - state.facts.budget.required_mm
    )
    assert state.pose is not None and state.pose.mm == pytest.approx(expected, abs=0.01)
    at_bump = state.pose.mm
    settings().pose_travel = 0.0
    settings().pose_rebound = 100.0
    assert_allclose(tire_axle(), -15.0 * up, atol=0.01)
    assert state.pose.mm > at_bump
    settings().pose_steering = 100.0
    radiator = bpy.data.objects["radiator"]
    assert np.array(radiator.matrix_world)[0, 1] != 0.0  # a fender that steers sees the chassis turn
    assert_allclose(tire_axle(), -15.0 * up, atol=0.01)


def test_play_goes_through_all_and_comes_back(high: None) -> None:
    state = session.of_scene(bpy.context.scene)
    assert bpy.ops.fenderwright.play_pose() == {"FINISHED"}
    assert_allclose(tire_axle(), 0.0, atol=1e-6)
    tire = [ob for ob in bpy.context.scene.collection.objects if ob.get("fenderwright") == "envelope"]
    assert len(tire) == 1 and radius_of(np.array([v.co for v in tire[0].data.vertices])).max() > 346.0
    assert state.pose is not None


def test_without_motion_play_says_why_not() -> None:
    with extension():
        assert bpy.ops.fenderwright.load_sheet(filepath=str(DEMO / "front_17.toml")) == {"FINISHED"}
        assert bpy.ops.fenderwright.seed_cage() == {"FINISHED"}
        assert not anything_moves(session.of_scene(bpy.context.scene))
        with pytest.raises(RuntimeError, match=NOTHING_MOVES):
            bpy.ops.fenderwright.play_pose()
