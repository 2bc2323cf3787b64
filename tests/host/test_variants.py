# SPDX-License-Identifier: GPL-3.0-or-later
"""Variants kept in a scene and compared, and sheets of variants without a window."""

import json
from pathlib import Path

import bpy
import numpy as np
import pytest

from addon.core.base.errors import JobError
from addon.host.cage.cage_mesh import read_points, write_points
from addon.host.variants_run import run_variants
from addon.ui.finish import variant_operators
from tests.host.extension_scene import DEMO, seeded, settings

pytestmark = pytest.mark.usefixtures("troubles")


def _kept_two() -> None:
    """The seeded shape as variant 1; a wider one with another edge and trim as variant 2, which is shaped now."""
    seeded("front_17")
    settings().hold = "OFF"
    assert bpy.ops.fenderwright.keep_variant() == {"FINISHED"}
    cage = settings().cage_object
    points = read_points(cage)
    write_points(cage, points * [1.05, 1.0, 1.0])
    settings().edge.use_front, settings().edge.front = True, "bead"
    settings().trim.use_rear_radius, settings().trim.rear_radius = True, 25.0
    settings().wall.thickness = 2.5
    assert bpy.ops.fenderwright.keep_variant() == {"FINISHED"}


def test_a_kept_shape_does_not_follow_the_one_that_is_shaped() -> None:
    _kept_two()
    first, second = settings().variants
    assert (first.name, second.name) == ("variant 1", "variant 2")
    np.testing.assert_allclose(read_points(second.cage)[:, 0], 1.05 * read_points(first.cage)[:, 0], rtol=1e-4, atol=1e-3)
    assert first.cage.hide_viewport and first.cage is not settings().cage_object
    assert json.loads(first.sheet)["wall"]["thickness"] == 3.0 and json.loads(second.sheet)["wall"]["thickness"] == 2.5


def test_going_back_brings_shape_and_choices_and_loses_nothing() -> None:
    _kept_two()
    present = settings().cage_object
    settings().active_variant = 0
    assert bpy.ops.fenderwright.use_variant() == {"FINISHED"}
    assert settings().wall.thickness == 3.0 and not settings().edge.use_front
    assert settings().cage_object not in (present, settings().variants[0].cage) and present.hide_viewport
    np.testing.assert_allclose(read_points(settings().cage_object), read_points(settings().variants[0].cage), atol=2e-3)
    assert len(settings().variants) == 2


def test_trim_and_edge_are_taken_over_and_the_rest_stays() -> None:
    _kept_two()
    settings().active_variant = 0
    bpy.ops.fenderwright.use_variant()
    settings().active_variant = 1
    assert bpy.ops.fenderwright.take_variant_edge() == {"FINISHED"}
    assert settings().edge.use_front and settings().edge.front == "bead" and not settings().trim.use_rear_radius
    assert bpy.ops.fenderwright.take_variant_trim() == {"FINISHED"}
    assert settings().trim.rear_radius == 25.0 and settings().trim.use_rear_radius and settings().wall.thickness == 3.0


def test_variant_of_another_job_is_refused_and_nothing_changes() -> None:
    _kept_two()
    settings().mount.height = 47.0
    cage = settings().cage_object
    for operator in (bpy.ops.fenderwright.use_variant, bpy.ops.fenderwright.take_variant_trim):
        with pytest.raises(
            RuntimeError, match=r'variant "variant 2": is of another job: its mount.height is 44.0, here it is 47.0'
        ):
            operator()
    assert settings().cage_object is cage and settings().mount.height == 47.0


def test_ghost_and_difference_come_and_go() -> None:
    _kept_two()
    settings().active_variant = 0
    ghost = settings().variants[0].cage
    bpy.ops.fenderwright.show_variant()
    assert not ghost.hide_viewport and ghost.display_type == "WIRE"
    bpy.ops.fenderwright.show_variant()
    assert ghost.hide_viewport
    assert bpy.ops.fenderwright.show_difference() == {"FINISHED"}
    shown = next(ob for ob in bpy.context.scene.collection.objects if ob.get("fenderwright") == "difference")
    values = np.zeros(len(shown.data.vertices), np.float32)
    shown.data.attributes["difference"].data.foreach_get("value", values)
    # 5 % of a half width of 70 mm
    assert 2.0 < values.max() < 3.8 and values.min() > -0.5
    bpy.ops.fenderwright.show_difference()
    assert not [ob for ob in bpy.context.scene.collection.objects if ob.get("fenderwright") == "difference"]


def test_variants_are_removed_with_their_cages() -> None:
    _kept_two()
    names = [row.cage.name for row in settings().variants]
    for _ in range(2):
        bpy.ops.fenderwright.remove_variant()
    assert len(settings().variants) == 0 and not [name for name in names if name in bpy.data.objects]
    assert not bpy.ops.fenderwright.use_variant.poll()


def test_comparison_fills_every_row() -> None:
    _kept_two()
    settings().active_variant = 0
    bpy.ops.fenderwright.use_variant()
    settings().active_variant = 1
    bpy.ops.fenderwright.remove_variant()
    settings().wall.thickness = 4.0
    bpy.ops.fenderwright.keep_variant()
    assert bpy.ops.fenderwright.compare_variants() == {"FINISHED"}
    told = [row.told for row in settings().variants]
    masses = [float(line.split(" g in ")[0].split("; ")[-1]) for line in told]
    assert masses[1] / masses[0] == pytest.approx(1.3, abs=0.1)


def test_name_that_no_folder_can_have_is_refused() -> None:
    with pytest.raises(JobError, match='variant "a/b": cannot name a folder'):
        variant_operators._folder_name("a/b")
    assert variant_operators._folder_name("slim 2") == "slim 2"


def test_sheets_of_other_jobs_and_single_ones_are_refused_before_anything_is_written(tmp_path: Path) -> None:
    sheet = DEMO / "front_17.toml"
    other = tmp_path / "other.toml"
    other.write_text(sheet.read_text().replace("height = 44.0", "height = 46.0"))
    for sheets, told in (([sheet, other], "is of another job"), ([sheet], "two or more"), ([sheet, sheet], "named twice")):
        with pytest.raises(JobError, match=told):
            run_variants(sheets, tmp_path / "out", lambda _: None, lambda *_: None)
    assert not (tmp_path / "out").exists()
