# SPDX-License-Identifier: GPL-3.0-or-later
"""The wall map: rays of the mesh against the thickness that was asked and trimesh, as an object of the scene and as a picture."""

from pathlib import Path

import bpy
import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.wheel_axes import station_of
from addon.core.colors.clearance_map import clearance_colors
from addon.core.colors.wall_colors import wall_colors, wall_legend
from addon.core.tables.clearance_map import VERMILLION
from addon.core.wall.closed_wall import closed_wall
from addon.core.wall.wall_map import wall_map
from addon.core.wall.wall_ramp import WallRamp
from addon.core.wall.wall_shape import WallShape
from addon.host.map_object import LEAST_WALL, WALL, WALL_COLORS
from addon.host.part_objects import parts_are_shown
from addon.host.pictures.wall_picture import render_wall
from tests.core.torus_surface import as_trimesh, torus_surface
from tests.host.extension_scene import cage, seeded, settings, state
from tests.host.test_panel_job import refusal

RAMPED = WallShape(WallRamp(10.0, -20.0, 0.8, 0.5, 320.0, 60.0))


def test_it_is_the_wall_that_is_there() -> None:
    """A wall of 3 mm that thins to 1.5: what was asked within 1 % of nearly all, and single facets as trimesh's rays have them."""
    wall = closed_wall(torus_surface(), 0.0, 3.0, "round", shape=RAMPED)
    found = wall_map(wall)
    away_from_rim = np.ones(len(wall.outer), bool)
    away_from_rim[wall.boundary.vertex] = False
    off = np.abs(found.thickness / wall.asked - 1.0)[away_from_rim]
    # between its rays the map is smoothed, so that it lags a little along the ramp
    assert np.percentile(off, 90.0) < 0.01 and np.percentile(off, 99.0) < 0.05
    assert found.least_mm == pytest.approx(1.5, rel=0.01) and station_of(found.place) < -30.0
    outside = as_trimesh(wall.mesh)
    facet = int(np.argmin(np.linalg.norm(outside.triangles_center[: len(wall.triangles)] - found.place, axis=1)))
    start, way = outside.triangles_center[facet], -outside.face_normals[facet]
    hits, _, met = outside.ray.intersects_location([start], [way])
    theirs = np.linalg.norm(hits - start, axis=1)[met != facet].min()
    assert found.least_mm == pytest.approx(theirs, abs=1e-6)


def test_colors_run_from_what_can_be_printed() -> None:
    thickness = np.array([0.5, 0.8, 1.5, 3.0])
    points = np.zeros((4, 3)) + [4.0, 0.0, 0.0]
    colors = wall_colors(thickness, points, 0.8)
    assert_allclose(colors[0, :3], VERMILLION, atol=1e-6)
    assert_allclose(colors[1:], clearance_colors(thickness[1:] - 0.8, points[1:], 2.2), atol=1e-6)
    texts = [step.text for step in wall_legend(thickness, 0.8)]
    assert texts[0] == "under 0.8 mm" and texts[-1] == "3.0+ mm"


@pytest.mark.usefixtures("troubles")
def test_it_is_shown_after_a_build_and_made_anew() -> None:
    seeded()
    assert "Build the solid first" in refusal("show_wall")
    settings().wall.use_rear_thickness, settings().wall.rear_thickness = True, 2.0
    assert bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True) == {"FINISHED"}
    for shown in (True, False, True):
        assert bpy.ops.fenderwright.show_wall("EXEC_DEFAULT", True) == {"FINISHED"}
        assert cage().hide_get() and parts_are_shown(bpy.context.scene) is not shown and bool(state().map_legend) is shown
        assert any(ob.get("fenderwright") == "wall map" for ob in bpy.data.objects) is shown
    made = [ob for ob in bpy.data.objects if ob.get("fenderwright") == "wall map"]
    marks = [ob for ob in bpy.data.objects if ob.name.startswith(LEAST_WALL)]
    assert len(made) == 1 and len(marks) == 1 and marks[0].parent == made[0]
    body = state().body
    assert body is not None
    values = np.array([each.value for each in made[0].data.attributes[WALL].data])
    assert len(values) == len(body.outer) and np.percentile(values, 1.0) == pytest.approx(2.0, rel=0.02)
    assert made[0].data.color_attributes.active_color.name == WALL_COLORS
    least = float(marks[0].name.split()[2])
    assert least == pytest.approx(values.min(), rel=0.03)
    assert all(ob.hide_get() for ob in bpy.data.objects if ob.name.startswith("Fender Rear"))


def test_picture_is_written(tmp_path: Path) -> None:
    shown = wall_map(closed_wall(torus_surface(), 0.0, 3.0, "round", shape=RAMPED))
    render_wall(shown, 0.8, ["test: least wall"], tmp_path / "wall.png")
    image = bpy.data.images.load(str(tmp_path / "wall.png"))
    pixels = np.array(image.pixels[:]).reshape(-1, 4)[:, :3]
    # dark blue of thin wall and yellow of full wall are both there
    assert ((pixels[:, 2] > pixels[:, 0] + 0.1).sum() > 500) and ((pixels[:, 0] > pixels[:, 2] + 0.3).sum() > 500)
    bpy.data.images.remove(image)
