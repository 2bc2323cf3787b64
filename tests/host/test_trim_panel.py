# SPDX-License-Identifier: GPL-3.0-or-later
"""The trim through properties, curves and operators, and the part that comes of it."""

from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial import cKDTree

from addon.core.base.errors import JobError
from addon.core.clearance.clearance_field import clearance_field
from addon.core.job.job_sheet import parse_job, read_job_sheet
from addon.core.shaping.seed import seed_cage
from addon.host.drawn_line import WITHIN, drawn_line
from addon.output.sheet_file import write_sheet
from addon.pipeline.job_result import Timings, make_job
from addon.ui.state import session
from addon.ui.state.job_values import read_job, write_job
from addon.ui.watch.rest_timer import rest
from tests.core.torus_surface import as_manifold
from tests.core.trim_jobs import SEEDED
from tests.crossing_pairs import crossing_pairs
from tests.host.extension_scene import FLOAT_MM, cage, seeded, settings, shown_skin, state, update

TRIM: dict[str, Any] = {
    "trim": {"front_radius": 25.0, "corner": 6.5},
    "trim_line": [
        {"name": "low", "view": "drop", "points": [[-45, 18.25], [0, 22], [30, 16]]},
        {"name": "end", "view": "side", "points": [[300, 300], [250, 200.5]]},
    ],
    "opening": [{"name": "sensor", "station": 0.0, "x": -20.0, "length": 20.0, "width": 8.0, "turn": 15.0, "sides": "both"}],
    "keepout": [{"name": "leg", "kind": "capsule", "a": [90, 0, 500], "b": [90, 0, 100], "radius": 25, "scallop": 0.0}],
}


pytestmark = pytest.mark.usefixtures("troubles")


def seeded_without_trim() -> None:
    seeded("front_21")
    for entries in (settings().trim_lines, settings().openings, settings().keepouts):
        entries.clear()
    settings().trim.use_front_radius = settings().trim.use_rear_radius = False
    session.mark_job_changed(bpy.context.scene)


def bezier_circle(radius: float, at: tuple[float, float, float], turn: tuple[float, float, float]) -> bpy.types.Object:
    bpy.ops.curve.primitive_bezier_circle_add(radius=radius, location=at, rotation=turn)
    ob = bpy.context.active_object
    assert ob is not None
    bpy.context.view_layer.update()
    return ob


def test_a_trim_goes_through_sheet_and_properties_unchanged(tmp_path: Path) -> None:
    job = parse_job({**SEEDED, **TRIM})
    write_sheet(tmp_path / "job.toml", job)
    assert read_job_sheet(tmp_path / "job.toml") == job
    write_job(settings(), job)
    assert read_job(settings()) == job


def test_a_drawn_circle_becomes_points_in_its_view() -> None:
    """The host's Bezier circle is within 0.03 % of a circle; placed with a bevel that does not count, and turned on its side."""
    ob = bezier_circle(40.0, (10.0, 120.0, 300.0), (0.0, np.pi / 2, 0.0))
    ob.data.bevel_depth = 3.0  # type: ignore[union-attr]
    ob.data.splines[0].resolution_u = 96  # type: ignore[union-attr]
    curves = len(bpy.data.curves)
    line = drawn_line(ob, "side")
    assert (line[0] == line[-1]).all()
    assert 12 < len(line) < 260
    assert_allclose(np.hypot(*(line - [120.0, 300.0]).T), 40.0, atol=0.03 / 100 * 40.0 + WITHIN)
    flat = drawn_line(ob, "top")
    assert_allclose(flat[:, 0], 10.0, atol=1e-3)
    assert len(bpy.data.curves) == curves
    ob.data.splines.new("BEZIER")  # type: ignore[union-attr]
    with pytest.raises(JobError, match="2 splines"):
        drawn_line(ob, "side")


def test_lines_openings_and_curves_by_the_buttons() -> None:
    seeded_without_trim()
    assert bpy.ops.fenderwright.add_trim_line("EXEC_DEFAULT", True) == {"FINISHED"}
    assert state().problem == ""
    settings().trim_lines[0].curve = bezier_circle(45.0, (0.0, 285.0, 268.0), (0.0, np.pi / 2, 0.0))
    assert len(settings().trim_lines[0].points) == 2  # a drop line is typed
    settings().trim_lines[0].view = "side"
    rest(bpy.context.scene)
    assert state().facts is not None
    line = state().facts.job.trim_lines[0]
    assert line.points[0] == line.points[-1] and len(line.points) > 12
    assert bpy.ops.fenderwright.add_opening("EXEC_DEFAULT", True) == {"FINISHED"}
    assert bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True) == {"FINISHED"}
    parts = {ob.name for ob in bpy.data.objects if ob.type == "MESH"}
    assert len(parts) >= 3
    # the curve may go: the sheet holds its points
    bpy.data.objects.remove(settings().trim_lines[0].curve)
    rest(bpy.context.scene)
    assert state().facts.job.trim_lines[0] == line
    assert bpy.ops.fenderwright.add_trim_point("EXEC_DEFAULT", True) == {"FINISHED"}
    count = len(settings().trim_lines[0].points)
    assert bpy.ops.fenderwright.remove_entry("EXEC_DEFAULT", True, section="trim_line", list_name="points", index=count - 1) == {
        "FINISHED"
    }
    assert bpy.ops.fenderwright.remove_trim_line("EXEC_DEFAULT", True) == {"FINISHED"}
    assert bpy.ops.fenderwright.remove_opening("EXEC_DEFAULT", True) == {"FINISHED"}
    assert not settings().trim_lines and not settings().openings


def test_a_trimmed_job_makes_closed_single_pieces_that_are_clear() -> None:
    """Through make_job, with the split: manifold3d agrees on each piece, and the trim takes mass away."""
    volumes = []
    for more in ({}, {**TRIM, "opening": [{**TRIM["opening"][0], "station": -30.0}]}):
        job = parse_job({**SEEDED, "split": {"plane": "across", "joint": "lap", "lap": 20}, **more})
        field = clearance_field(job)
        result = make_job(job, seed_cage(job, field).cage, Timings(lambda said: None), field=field)
        solids = [as_manifold(part.mesh) for part in result.finished.parts]
        assert [solid.status().name for solid in solids] == ["NoError"] * 2
        assert [len(solid.decompose()) for solid in solids] == [1, 1]
        assert not any(len(crossing_pairs(part.mesh)) for part in result.finished.parts)
        volumes.append(sum(solid.volume() for solid in solids))
        for limit in result.limits:
            assert limit.proof.min_mm > limit.required_mm - 0.02
        if more:
            assert [solid.genus() for solid in solids] == [1, 3]  # front: a bolt; rear: a bolt and two openings
    assert volumes[1] < volumes[0] - 2000.0


def drawn_circle_line() -> Any:
    """A side line that follows a circle off the rear end of the demo's fender."""
    seeded_without_trim()
    bpy.ops.fenderwright.add_trim_line("EXEC_DEFAULT", True)
    line = settings().trim_lines[0]
    line.view = "side"
    line.curve = bezier_circle(45.0, (0.0, 285.0, 268.0), (0.0, np.pi / 2, 0.0))
    return line


def test_a_line_follows_its_curve_while_it_is_edited() -> None:
    line = drawn_circle_line()
    ob = line.curve

    def middle() -> Any:
        """Of the box about the line (y, z), since its points are not even."""
        points = np.array(state().facts.job.trim_lines[0].points)
        return 0.5 * (points.min(axis=0) + points.max(axis=0))

    assert_allclose(middle(), [285.0, 268.0], atol=0.1)
    ob.location.y += 6.0
    bpy.context.view_layer.update()
    rest(bpy.context.scene)
    assert_allclose(middle(), [291.0, 268.0], atol=0.1)
    bpy.context.view_layer.objects.active = ob
    bpy.ops.object.mode_set(mode="EDIT")
    bpy.ops.curve.select_all(action="SELECT")
    bpy.ops.transform.translate(value=(0.0, 0.0, 4.0))
    rest(bpy.context.scene)
    assert_allclose(middle(), [291.0, 272.0], atol=0.1)
    bpy.ops.object.mode_set(mode="OBJECT")
    # a curve that is no line is marked where it stands, and the line stays
    ob.data.splines.new("BEZIER")
    rest(bpy.context.scene)
    trouble = state().trouble
    assert trouble is not None and "2 splines" in trouble.sentence
    assert_allclose(trouble.place, ob.matrix_world.translation, atol=1e-5)
    assert_allclose(middle(), [291.0, 272.0], atol=0.1)


def test_the_view_of_the_trim_moves_with_the_cage_and_is_worked_out_at_rest() -> None:
    drawn_circle_line()
    update()
    rest(bpy.context.scene)
    view, shaped = state().trim_view, state().shaped
    assert view is not None and shaped is not None and view.fits(shaped)
    points = view.points(shaped)
    # by the curve itself: cut away is what is inside of the circle, the rim and half a wall aside, and corners that are rounded
    away = np.hypot(points[:, 1] - 285.0, points[:, 2] - 268.0) - 45.0
    assert (view.values[away < -5.0] < 0.0).all() and (away < -5.0).sum() > 100
    assert away[view.values < 0.0].max() < 12.0
    for vertex in cage().data.vertices:
        vertex.co.z += 5.0
    cage().data.update()
    update()
    moved = state().shaped
    assert moved is not shaped and state().trim_view is view and view.fits(moved)
    assert np.linalg.norm(view.points(moved) - points, axis=1).max() > 4.0
    assert cKDTree(shown_skin()).query(view.points(moved))[0].max() < FLOAT_MM  # where the host shows the skin
    rest(bpy.context.scene)
    assert state().trim_view is not view
    bpy.ops.fenderwright.remove_trim_line("EXEC_DEFAULT", True)
    update()
    rest(bpy.context.scene)
    assert state().trim_view is None


def test_a_refusal_is_marked_until_something_changes() -> None:
    seeded_without_trim()
    bpy.ops.fenderwright.add_opening("EXEC_DEFAULT", True)
    settings().openings[0].station = 0.0  # in the seat
    update()
    rest(bpy.context.scene)
    trouble = state().trouble
    assert trouble is not None and "cuts the seat" in trouble.sentence
    settings().openings[0].station = -30.0
    settings().openings[0].x = 52.0
    update()
    assert state().trouble is None
    with pytest.raises(RuntimeError, match="edge"):
        bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True)
    trouble = state().trouble
    assert trouble is not None and trouble.place[0] > 40.0
    cage().data.vertices[0].co.z += 1.0
    cage().data.update()
    update()
    assert state().trouble is None
    settings().trim_lines.add().name = "loop"
    line = settings().trim_lines[0]
    line.view = "side"
    for point in ((100, 300), (200, 200), (200, 300), (100, 200)):
        line.points.add().value = point
    update()
    trouble = state().trouble
    assert trouble is not None and "crosses itself" in trouble.sentence
    assert_allclose(trouble.place, [0.0, 150.0, 250.0])
    settings().trim_lines.clear()
    bpy.ops.fenderwright.add_trim_line("EXEC_DEFAULT", True)
    update()
    assert state().trouble is None


def test_islands_and_openings_over_the_edge_are_told_at_rest_without_a_build() -> None:
    seeded_without_trim()
    bpy.ops.fenderwright.add_opening("EXEC_DEFAULT", True)
    settings().openings[0].station, settings().openings[0].x = -30.0, 52.0
    update()
    rest(bpy.context.scene)
    trouble = state().trouble
    assert trouble is not None and "edge" in trouble.sentence and trouble.place[0] > 40.0
    settings().openings.clear()
    line = settings().trim_lines.add()
    line.name, line.view = "loop", "side"
    for point in ((163, 252), (240, 369), (271, 347), (185, 236), (163, 252)):
        line.points.add().value = point
    update()
    rest(bpy.context.scene)
    trouble = state().trouble
    assert trouble is not None and "2 pieces" in trouble.sentence
    assert state().trim_view is not None  # what is cut stays to be seen, with the place of the smaller piece
    assert np.linalg.norm(shown_skin() - trouble.place, axis=1).min() < 15.0
    bpy.ops.fenderwright.remove_trim_line("EXEC_DEFAULT", True)
    update()
    rest(bpy.context.scene)
    assert state().trouble is None
