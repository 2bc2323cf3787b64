# SPDX-License-Identifier: GPL-3.0-or-later
"""Stiffness from the panel: computed after a build, its shapes shown, and the flex counted where none is stated."""

from __future__ import annotations

import bpy
import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.colors.bend_colors import bend_legend
from addon.core.job.job_sheet import job_to_dict
from addon.core.stiffness.bend_shapes import SHOWN_MM, bend_shapes
from addon.host.bent_object import KEY, MARK, MOVEMENT
from addon.host.cage.cage_mesh import read_cage
from addon.host.part_objects import parts_are_shown
from addon.pipeline.job_stiffness import flex_of_cage
from addon.ui.state.job_values import read_job
from tests.host.extension_scene import cage, check, seeded, settings, state
from tests.host.test_panel_job import refusal


def build() -> None:
    assert bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True) == {"FINISHED"}


def bent() -> list[bpy.types.Object]:
    return [ob for ob in bpy.data.objects if ob.get("fenderwright") == MARK]


def moved(ob: bpy.types.Object) -> np.ndarray:
    """(n, 3) how far the shape key moves the points of the object."""
    places = []
    for block in ob.data.shape_keys.key_blocks:
        flat = np.zeros(3 * len(ob.data.vertices), np.float32)
        block.data.foreach_get("co", flat)
        places.append(flat.reshape(-1, 3))
    return places[1] - places[0]


@pytest.mark.usefixtures("troubles")
def test_shapes_are_shown_in_place_of_the_pieces_and_taken_away() -> None:
    seeded()
    assert "Build the solid first" in refusal("compute_stiffness")
    build()
    assert "Compute the stiffness first" in refusal("show_bend")
    assert bpy.ops.fenderwright.compute_stiffness("EXEC_DEFAULT", True) == {"FINISHED"}
    made = state().stiffness
    assert made is not None and made.laminated is None
    shapes = bend_shapes(made.printed, 200.0)
    assert [shape.name for shape in shapes[:4]] == [
        "Front Tip, 5 N",
        "Rear Tip, 5 N",
        "Wind, 200 km/h",
        "1st Natural Frequency",
    ]
    assert bpy.ops.fenderwright.show_bend("EXEC_DEFAULT", True, part="Print", index=1) == {"FINISHED"}
    (ob,) = bent()
    assert_allclose(moved(ob), shapes[1].times * shapes[1].movement, atol=1e-3)
    assert 0.3 * SHOWN_MM < np.linalg.norm(moved(ob), axis=1).max() <= 1.01 * SHOWN_MM
    values = np.array([each.value for each in ob.data.attributes[MOVEMENT].data])
    assert values.max() == pytest.approx(shapes[1].most_mm, rel=1e-5)
    assert cage().hide_get() and not parts_are_shown(bpy.context.scene) and state().map_shown
    # another one takes its place; the wall takes that one's; a second press takes it away
    assert bpy.ops.fenderwright.show_bend("EXEC_DEFAULT", True, part="Print", index=3) == {"FINISHED"}
    (ob,) = bent()
    assert np.linalg.norm(moved(ob), axis=1).max() == pytest.approx(SHOWN_MM, rel=1e-3)
    first = bpy.context.scene.frame_current
    swing = []
    for frame in (first, first + 6, first + 12):
        bpy.context.scene.frame_set(frame)
        swing.append(ob.evaluated_get(bpy.context.evaluated_depsgraph_get()).data.shape_keys.key_blocks[KEY].value)
    assert_allclose(swing, [1.0, 0.0, -1.0], atol=1e-3)
    assert bpy.ops.fenderwright.show_wall("EXEC_DEFAULT", True) == {"FINISHED"}
    assert not bent() and cage().hide_get()
    assert bpy.ops.fenderwright.show_wall("EXEC_DEFAULT", True) == {"FINISHED"}
    assert parts_are_shown(bpy.context.scene) and not state().map_shown
    for shown in (True, False):
        assert bpy.ops.fenderwright.show_bend("EXEC_DEFAULT", True, part="Print", index=0) == {"FINISHED"}
        assert bool(bent()) is shown and parts_are_shown(bpy.context.scene) is not shown
    assert "Laminate: has no shape 0" in refusal("show_bend", part="Laminate", index=0)
    assert "Print: has no shape 99" in refusal("show_bend", part="Print", index=99)
    build()
    assert state().stiffness is None and not bent()  # of another solid it says nothing


@pytest.mark.usefixtures("troubles")
def test_a_build_counts_the_flex_that_no_one_stated_and_moves_the_cage_clear_of_it() -> None:
    seeded()
    settings().clearance.use_flex = False
    settings().wall.thickness, settings().cage.use_rise = 2.2, True
    settings().cage.rise, settings().cage.half_width = 0.0, 76.0
    assert bpy.ops.fenderwright.seed_cage("EXEC_DEFAULT", True) == {"FINISHED"}
    facts = state().facts
    assert facts is not None
    assert [line.basis for line in facts.budget.lines if line.name == "fender flex"] == ["default"]
    before, points = facts.budget.required_mm, read_cage(cage()).points
    build()
    facts = state().facts
    assert facts is not None
    (line,) = [line for line in facts.budget.lines if line.name == "fender flex"]
    assert line.basis == "computed" and line.mm == pytest.approx(settings().computed_flex)
    assert facts.budget.required_mm == pytest.approx(before + line.mm - 3.0, abs=1e-5)
    assert any("Fender flex (computed)" in label for label, _ in state().budget_rows)
    built = state().built
    assert built is not None and built.tire.min_mm >= facts.budget.required_mm - 0.02
    assert np.linalg.norm(read_cage(cage()).points - points, axis=1).max() > 0.5
    check("after a build with its own flex")
    assert flex_of_cage(facts.job, built.cage) <= line.mm
    # it is no key of the sheet, and another sheet begins without it
    assert "flex" not in job_to_dict(read_job(settings()))["clearance"]
    seeded("rear_17")
    assert settings().computed_flex == 0.0


def test_legend_tells_millimeters_or_shares() -> None:
    assert [step.text for step in bend_legend(4.0)] == ["0.0 mm", "1.0 mm", "2.0 mm", "3.0 mm", "4.0 mm"]
    assert [step.text for step in bend_legend(None)] == ["0 %", "25 %", "50 %", "75 %", "100 %"]
