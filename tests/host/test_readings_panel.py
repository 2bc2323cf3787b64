# SPDX-License-Identifier: GPL-3.0-or-later
"""Hand readings through properties and operators, as the panel's buttons use them."""

import math
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

from addon.core.base.arrays import Array
from addon.core.job.job_sheet import read_job_sheet
from addon.core.readings.reading_drawings import READINGS
from addon.core.readings.reading_kinds import READING_KINDS
from addon.ui.draw.canvas import Canvas
from addon.ui.draw.canvas_room import CanvasRoom
from addon.ui.measure.reading_overlay import reading_canvas
from addon.ui.measure.reading_view import reading_view
from addon.ui.properties.reading_properties import PROFILE
from addon.ui.state.job_values import read_job, write_job
from addon.ui.state.shown import ReadingView
from tests.host.extension_scene import DEMO, settings, state
from tests.host.test_panel_job import refusal

pytestmark = pytest.mark.usefixtures("troubles")


def view() -> ReadingView:
    return reading_view(state(), settings())


def take(kind: str, *values: float) -> None:
    settings().readings.kind = kind
    for value in values:
        settings().readings.new_value = value
        assert bpy.ops.fenderwright.add_reading("EXEC_DEFAULT", True) == {"FINISHED"}


def demo() -> None:
    write_job(settings(), read_job_sheet(DEMO / "front_17.toml"))


def test_means_and_their_doubt_go_into_sheet_and_budget() -> None:
    """Doubts by the GUM written out anew: scatter over the root of n, and a tape's division as a uniform error."""
    demo()
    take("height", 44.5, 45.0, 45.5, 45.0)
    assert bpy.ops.fenderwright.take_over_mean("EXEC_DEFAULT", True) == {"FINISHED"}
    assert settings().mount.height == pytest.approx(45.0)
    assert settings().tire.sigma == pytest.approx(1.0)  # the budget's usual one, as the other three are not read
    take("circumference", 1890.0, 1892.0)
    bpy.ops.fenderwright.take_over_mean("EXEC_DEFAULT", True)
    assert settings().tire.measured_radius == pytest.approx(1891.0 / (2.0 * math.pi) - 0.075, abs=0.006)
    take("ahead", 3.0)
    bpy.ops.fenderwright.take_over_mean("EXEC_DEFAULT", True)
    take("tilt", 0.5, 0.6, 0.4)
    bpy.ops.fenderwright.take_over_mean("EXEC_DEFAULT", True)
    assert settings().mount.tilt == pytest.approx(0.5) and settings().mount.ahead == pytest.approx(3.0)
    tilt = math.hypot(0.3 / math.sqrt(3.0), 0.1 / math.sqrt(12.0))
    doubt = view().doubt
    assert doubt is not None and settings().tire.use_sigma and settings().tire.sigma == pytest.approx(doubt.sigma)
    # A turn about the pattern center moves the rear end (station -52) away from the axle by the part of its way that lies
    # along its radius: the pattern center's distance from the line through axle and rear end.
    rear = math.radians(52.0)
    arm = (300.9 + 45.0) * math.sin(rear) + 3.0 * math.cos(rear)
    assert doubt.of == "tilt" and doubt.sigma == pytest.approx(math.radians(tilt) * arm, abs=0.02)
    facts = state().facts
    assert facts is not None
    line = next(line for line in facts.budget.lines if "uncertainty" in line.name)
    assert line.mm == pytest.approx(2.0 * doubt.sigma, rel=1e-6)


def test_more_readings_of_the_worst_series_lower_the_doubt() -> None:
    demo()
    take("height", 44.0, 44.0, 44.0)
    take("circumference", 1880.0)
    take("ahead", 0.5)
    take("tilt", 0.1)
    before = view().doubt
    assert before is not None and before.of is not None
    worst = before.of
    mean = {"ahead": 0.5, "tilt": 0.1}[worst]
    take(worst, mean, mean, mean)
    after = view().doubt
    assert after is not None and after.sigma < before.sigma


def test_a_stray_reading_is_named_and_can_be_taken_out() -> None:
    take("height", 44.5, 45.0, 52.0, 44.8)
    assert view().stray == 2 and "reading 3 (52 mm)" in view().sentence and "take it again" in view().sentence
    assert bpy.ops.fenderwright.remove_reading("EXEC_DEFAULT", True, index=2) == {"FINISHED"}
    assert view().stray is None and dict(view().rows)["Average of 3"] == "44.77 mm"
    assert "no reading 9" in refusal("remove_reading", index=8)
    assert bpy.ops.fenderwright.clear_readings("EXEC_DEFAULT", True) == {"FINISHED"}
    assert view().rows == () and not bpy.ops.fenderwright.take_over_mean.poll()


def test_a_contradiction_is_named_with_its_size_and_the_likelier_culprit() -> None:
    demo()
    take("circumference", 2.0 * math.pi * 299.2)
    take("radius", 309.2)
    take("ground_radius", 290.0)
    failed = [check for check in view().checks if not check.agrees]
    assert failed and failed[0].culprit == "radius"
    assert any(check.name.startswith("radius by tape") and 9.0 < check.difference < 11.0 for check in failed)
    assert "Likelier wrong: the radius by tape" in failed[0].sentence
    bpy.ops.fenderwright.clear_readings("EXEC_DEFAULT", True)
    settings().readings.kind = "radius"
    bpy.ops.fenderwright.clear_readings("EXEC_DEFAULT", True)
    take("radius", 299.2)
    assert not [check for check in view().checks if "radius by tape" in check.name and not check.agrees]


def test_undone_readings_are_gone_from_the_view() -> None:
    bpy.ops.ed.undo_push(message="before")
    take("height", 44.0)
    take("height", 45.0)
    assert dict(view().rows)["Average of 2"] == "44.50 mm"
    bpy.ops.ed.undo()
    assert dict(view().rows)["Average of 1"] == "44.00 mm"


def test_readings_survive_save_and_reopen(tmp_path: Path) -> None:
    take("height", 44.0, 45.0)
    take("tilt", -1.5)
    settings().readings.widths.add().value = (10.0, 100.0)
    path = str(tmp_path / "kept.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    assert not len(settings().readings.height)
    bpy.ops.wm.open_mainfile(filepath=path)
    assert [entry.value for entry in settings().readings.height] == [44.0, 45.0]
    assert view().combined["tilt"].mean == -1.5 and settings().readings.kind == "tilt"
    assert list(settings().readings.widths[0].value) == [10.0, 100.0]


def test_wrong_inputs_are_one_sentence() -> None:
    settings().readings.kind = "circumference"
    settings().readings.new_value = 0.0
    assert "Circumference: 0 mm is no reading; it must be more than 0" in refusal("add_reading")
    settings().readings.kind = "ground_radius"
    take("ground_radius", 290.0)
    assert not bpy.ops.fenderwright.take_over_mean.poll()
    settings().readings.kind = PROFILE
    assert not bpy.ops.fenderwright.add_reading.poll()
    for index in range(2):
        assert bpy.ops.fenderwright.add_profile_row("EXEC_DEFAULT", True) == {"FINISHED"}
        settings().readings.widths[index].value = (-5.0, 80.0)
    assert "tire.profile: drop -5 mm" in refusal("take_over_profile")
    assert "no row 7" in refusal("remove_profile_row", index=6)
    settings().readings.profile_way = "TRACE"
    assert "choose the photograph first" in refusal("take_over_profile")
    assert not settings().tire.use_profile


def crown(across: Array) -> Array:
    """Drops of a round crown of radius 65 mm."""
    return np.asarray(65.0 - np.sqrt(65.0**2 - across**2))


def test_profile_by_calipers_and_by_contour_gauge() -> None:
    demo()
    readings = settings().readings
    readings.kind = PROFILE
    for offset in (15.0, 30.0, 45.0, 58.0):
        bpy.ops.fenderwright.add_profile_row("EXEC_DEFAULT", True)
        readings.widths[-1].value = (float(crown(np.array(offset))), 2.0 * offset)
    assert bpy.ops.fenderwright.take_over_profile("EXEC_DEFAULT", True) == {"FINISHED"}
    profile = np.array(read_job(settings()).tire.profile)
    np.testing.assert_allclose(profile[:, 0], [0.0, 15.0, 30.0, 45.0, 58.0])
    np.testing.assert_allclose(profile[:, 1], crown(profile[:, 0]), atol=0.006)
    readings.profile_way = "CONTOUR"
    for across in np.linspace(-57.0, 57.0, 39):
        bpy.ops.fenderwright.add_profile_row("EXEC_DEFAULT", True)
        readings.contour[-1].value = (across + 7.0, 20.0 - float(crown(across)))
    assert bpy.ops.fenderwright.take_over_profile("EXEC_DEFAULT", True) == {"FINISHED"}
    profile = np.array(read_job(settings()).tire.profile)
    np.testing.assert_allclose(profile[:, 1], crown(profile[:, 0]), atol=0.1)  # chords of points 3 mm apart
    assert profile[-1, 0] == pytest.approx(57.0, abs=0.2)


def photograph(turned: bool) -> tuple[bpy.types.Object, Any]:
    """An upright reference image of 800 x 400 pixels, 160 units wide: 5 pixels for a unit; and its local axes to the world."""
    image = bpy.data.images.new("photo", 800, 400)
    empty = bpy.data.objects.new("photo", None)
    empty.empty_display_type, empty.empty_display_size = "IMAGE", 160.0
    empty.data = image
    empty.rotation_euler = (math.pi / 2.0, 0.0, 0.7 if turned else 0.0)
    empty.location = (30.0, -400.0, 320.0)
    bpy.context.scene.collection.objects.link(empty)
    bpy.context.view_layer.update()
    return empty, empty.matrix_world.copy()


@pytest.mark.parametrize("kind", ["CURVE", "MESH"])
def test_profile_traced_over_a_photograph(kind: str) -> None:
    """The photograph shows the tire at 1.6 mm for a unit, off the middle; a known 100 mm is marked beside it."""
    demo()
    picture, place = photograph(turned=kind == "MESH")
    across = np.linspace(-55.0, 55.0, 111)
    local = np.column_stack([(across + 10.0) / 1.6, (12.0 - crown(across)) / 1.6, np.zeros(len(across))])
    world = [place @ _vector(point) for point in local]
    readings = settings().readings
    if kind == "CURVE":
        curve = bpy.data.curves.new("trace", "CURVE")
        curve.dimensions = "3D"
        spline = curve.splines.new("POLY")
        spline.points.add(len(world) - 1)
        for point, co in zip(spline.points, world, strict=True):
            point.co = (*co, 1.0)
        trace = bpy.data.objects.new("trace", curve)
    else:
        mesh = bpy.data.meshes.new("trace")
        mesh.from_pydata([tuple(co) for co in world], [(i, i + 1) for i in range(len(world) - 1)], [])
        trace = bpy.data.objects.new("trace", mesh)
    bpy.context.scene.collection.objects.link(trace)
    readings.kind, readings.profile_way = PROFILE, "TRACE"
    readings.picture, readings.trace = picture, trace
    assert "the known length stands off photo" in refusal("take_over_profile")
    for name, x in (("known_begin", -30.0), ("known_end", -30.0 + 100.0 / 1.6)):
        bpy.context.scene.cursor.location = place @ _vector((x, -20.0, 0.0))
        assert bpy.ops.fenderwright.mark_place("EXEC_DEFAULT", True, place=name) == {"FINISHED"}
    assert "needed are more than 0 mm over 50 pixels" in refusal("take_over_profile")
    readings.known_mm = 100.0
    bpy.context.scene.cursor.location = place @ _vector((10.0 / 1.6, 12.0 / 1.6, 0.0))
    bpy.ops.fenderwright.mark_place("EXEC_DEFAULT", True, place="middle_mark")
    assert bpy.ops.fenderwright.take_over_profile("EXEC_DEFAULT", True) == {"FINISHED"}
    profile = np.array(read_job(settings()).tire.profile)
    np.testing.assert_allclose(profile[:, 1], crown(profile[:, 0]), atol=0.05)
    assert profile[-1, 0] == pytest.approx(55.0, abs=0.05)
    bpy.context.scene.cursor.location = place @ _vector((0.0, 0.0, 25.0))
    bpy.ops.fenderwright.mark_place("EXEC_DEFAULT", True, place="known_end")
    assert "the known length stands off photo" in refusal("take_over_profile")
    before = read_job(settings())
    readings.trace, said = (picture, "neither a curve nor a mesh") if kind == "CURVE" else (_solid(), "has faces")
    assert said in refusal("take_over_profile")
    assert read_job(settings()) == before


def _vector(point: Any) -> Any:
    from mathutils import Vector

    return Vector([float(value) for value in point])


def _solid() -> bpy.types.Object:
    mesh = bpy.data.meshes.new("solid")
    mesh.from_pydata([(0, 0, 0), (1, 0, 0), (0, 1, 0)], [], [(0, 1, 2)])
    return bpy.data.objects.new("solid", mesh)


@pytest.mark.parametrize("stated", ["nothing", "tire", "sheet", "impossible"])
def test_every_reading_has_a_drawing_however_little_is_stated(stated: str) -> None:
    if stated == "sheet":
        demo()
    if stated in ("tire", "impossible"):
        settings().tire.size = "180/55 ZR17" if stated == "tire" else "180 over 55"
    room = CanvasRoom(12.0, 1000.0, 12.0, 800.0, 700.0, 1.0)
    for kind in (*READING_KINDS, PROFILE):
        settings().readings.kind = kind
        made = view()
        assert made.drawing is not None and made.drawing.name == kind
        assert made.provisional.is_own == (stated == "sheet")
        assert made.provisional.tire_stated == (stated in ("tire", "sheet"))
        canvas = reading_canvas(room, made, False)
        left, low, right, high = canvas.bounds()
        assert 500.0 < left < right <= 1005.0 and 300.0 < low < high <= 805.0  # lines are as wide as 3
        assert_inside(canvas, (left, low, right, high))
    assert set(READINGS) == {*READING_KINDS, PROFILE}


def assert_inside(canvas: Canvas, frame: tuple[float, float, float, float]) -> None:
    """No text reaches out of the panel, and no two lie on each other."""
    boxes = []
    for text in canvas.texts:
        wide = canvas.width_of(text.text)
        assert frame[0] <= text.x and text.x + wide <= frame[2] + 1.0, text
        boxes.append((text.x, text.y, text.x + wide, text.y + 0.8 * canvas.font_size))
    for i, (left, low, right, high) in enumerate(boxes):
        for other in boxes[i + 1 :]:
            assert right <= other[0] or other[2] <= left or high <= other[1] or other[3] <= low, (canvas.texts[i], other)


def test_no_drawing_where_there_is_no_room_or_the_reading_cannot_be_taken() -> None:
    demo()
    settings().readings.kind = "height_ahead"
    small = CanvasRoom(12.0, 150.0, 12.0, 800.0, 700.0, 1.0)
    assert not reading_canvas(small, view(), False).areas
    settings().mount.ahead, settings().readings.second_at = 200.0, 200.0
    assert view().drawing is None and "lies past the tire" in view().problem
    assert not reading_canvas(CanvasRoom(12.0, 1000.0, 12.0, 800.0, 700.0, 1.0), view(), False).areas
