# SPDX-License-Identifier: GPL-3.0-or-later
"""Lines of the bike in a scene: drawn, compared, followed."""

import bpy
import numpy as np
import pytest

from addon.host.cage.cage_mesh import read_points, read_seat
from addon.ui.state import session
from addon.ui.watch.live import live_step
from tests.host.extension_scene import seeded, settings, state

pytestmark = pytest.mark.usefixtures("troubles")


def _drawn(points: np.ndarray) -> bpy.types.Object:
    """A poly curve in the center plane through (y, z) points, selected."""
    data = bpy.data.curves.new("tank", "CURVE")
    data.dimensions = "3D"
    spline = data.splines.new("POLY")
    spline.points.add(len(points) - 1)
    for point, (y, z) in zip(spline.points, points.tolist(), strict=True):
        point.co = (0.0, y, z, 1.0)
    ob = bpy.data.objects.new("tank", data)
    bpy.context.scene.collection.objects.link(ob)
    for other in bpy.context.selected_objects:
        other.select_set(False)
    ob.select_set(True)
    bpy.context.view_layer.objects.active = ob
    return ob


def _rear_line(height: float) -> np.ndarray:
    """An arc about the axle over the rear of the fender, station -25 to -50, at a height over its crown of about 345 mm."""
    turn = np.radians(np.linspace(-25.0, -50.0, 30))
    return (345.0 + height) * np.column_stack([-np.sin(turn), np.cos(turn)])


def test_drawn_curve_is_followed_while_the_seat_stays() -> None:
    cage = seeded("front_17")
    live_step(bpy.context.scene, budget_s=None)
    _drawn(_rear_line(15.0))
    assert bpy.ops.fenderwright.add_bike_line() == {"FINISHED"}
    assert len(settings().bike_lines[0].points) >= 5
    live_step(bpy.context.scene, budget_s=None)
    assert bpy.ops.fenderwright.compare_lines() == {"FINISHED"}
    before, told = read_points(cage), state().line_lines[0]
    assert bpy.ops.fenderwright.follow_line() == {"FINISHED"}
    after, seat = read_points(cage), read_seat(cage)
    np.testing.assert_array_equal(after[seat], before[seat])
    assert np.abs(after - before).max() > 4.0
    mean = [float(line.split(": ")[1].split(" mm")[0]) for line in (told, state().line_lines[0])]
    assert mean[1] < 0.35 * mean[0]
    assert state().shaped is not None and state().shaped.clear


def test_line_that_never_comes_near_is_told_and_nothing_moves() -> None:
    cage = seeded("front_17")
    live_step(bpy.context.scene, budget_s=None)
    _drawn(_rear_line(200.0))
    bpy.ops.fenderwright.add_bike_line()
    session.mark_job_changed(bpy.context.scene)
    live_step(bpy.context.scene, budget_s=None)
    before = read_points(cage)
    with pytest.raises(RuntimeError, match=r'bike_line\[0\].points: the line "line 1" never comes along the crown within 80 mm'):
        bpy.ops.fenderwright.follow_line()
    np.testing.assert_array_equal(read_points(cage), before)


def test_without_a_line_there_is_nothing_to_follow() -> None:
    seeded("front_17")
    assert not bpy.ops.fenderwright.follow_line.poll()
    bpy.ops.fenderwright.add_bike_line()
    assert len(settings().bike_lines) == 1
    bpy.ops.fenderwright.remove_bike_line()
    assert len(settings().bike_lines) == 0
