# SPDX-License-Identifier: GPL-3.0-or-later
"""Variants of one job: shapes against closed forms, jobs that are not the same, the table."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from addon.core.base.errors import JobError
from addon.core.base.wheel_axes import point_at
from addon.core.colors.difference_colors import difference_colors, difference_legend, difference_span
from addon.core.job.job_sheet import read_job_sheet
from addon.core.tables.clearance_map import BLUE, ORANGE
from addon.core.variants.figures import COLUMNS, VariantFigures, variant_cells, variant_report, variant_table
from addon.core.variants.same_job import check_same_job
from addon.core.variants.shape_difference import shape_difference

JOB = read_job_sheet(Path(__file__).parents[3] / "blend_demo" / "front_17.toml")


def _torus_part(tube: float, rear: float = -60.0, columns: int = 81, rows: int = 161) -> tuple[np.ndarray, np.ndarray]:
    angle, station = np.linspace(-1.2, 1.2, columns), np.linspace(rear, 40.0, rows)
    s, a = np.meshgrid(station, angle, indexing="ij")
    points = point_at(250.0 + tube * np.cos(a), s, tube * np.sin(a)).reshape(-1, 3)
    i = (np.arange(rows - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    quads = np.column_stack([i, i + columns, i + columns + 1, i + 1])
    return points, quads[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)


@pytest.mark.parametrize("change", [3.0, -3.0, 0.0])
def test_larger_and_smaller_tube_differ_by_their_radii(change: float) -> None:
    surface, triangles = _torus_part(80.0)
    points, _ = _torus_part(80.0 + change)
    found = shape_difference(points, surface, triangles)
    assert not found.beyond.any()
    np.testing.assert_allclose(found.out, change, atol=0.06)
    assert found.mean_mm == pytest.approx(abs(change), abs=0.06)
    assert found.span[0] == pytest.approx(min(change, 0.0), abs=0.06) and found.span[1] == pytest.approx(
        max(change, 0.0), abs=0.06
    )


def test_longer_shape_goes_past_the_edge_of_the_other() -> None:
    surface, triangles = _torus_part(80.0, rear=-40.0)
    points, _ = _torus_part(80.0, rear=-60.0)
    found = shape_difference(points, surface, triangles)
    station = np.degrees(np.arctan2(-points[:, 1], points[:, 2]))
    np.testing.assert_array_equal(found.beyond[np.abs(station + 40.0) > 0.5], (station < -40.0)[np.abs(station + 40.0) > 0.5])
    assert found.mean_mm < 0.06


def test_colors_tell_side_and_size() -> None:
    out, beyond = np.array([-8.0, 0.0, 4.0, 8.0, 50.0]), np.array([False, False, False, False, True])
    assert difference_span(out, beyond) == 10.0 and difference_span(out[4:], beyond[4:]) == 1.0
    colors = difference_colors(out, beyond, 8.0)
    np.testing.assert_allclose(colors[[0, 3], :3], [BLUE, ORANGE], atol=1e-6)
    assert colors[1, :3].min() > 0.9 and len({tuple(color) for color in colors.tolist()}) == 5
    legend = difference_legend(10.0)
    assert [step.text for step in legend] == ["-10.0 mm", "-5.0 mm", "0 mm", "+5.0 mm", "+10.0 mm", "past its edge"]


@pytest.mark.parametrize(
    ("other", "told"),
    [
        (replace(JOB, mount=replace(JOB.mount, height=50.0)), r"mount.height is 50.0, here it is 44.0"),
        (replace(JOB, keepouts=JOB.keepouts[:1]), r"number of keepouts is 1, here it is 2"),
        (replace(JOB, keepouts=(replace(JOB.keepouts[0], gap=9.0), JOB.keepouts[1])), r"keepouts\[0\].gap is 9.0"),
        (replace(JOB, tire=replace(JOB.tire, size="130/70 ZR17")), r'tire.size is "130/70 ZR17"'),
    ],
)
def test_variant_of_another_job_is_named_with_its_key(other: object, told: str) -> None:
    with pytest.raises(JobError, match=f'variant "slim": is of another job: its {told}'):
        check_same_job("slim", JOB, other)  # type: ignore[arg-type]


def test_choices_of_a_variant_are_its_own() -> None:
    check_same_job(
        "slim", JOB, replace(JOB, wall=replace(JOB.wall, thickness=2.0), cage=replace(JOB.cage, front=50.0), name="slim")
    )


def test_table_has_a_row_for_each_variant() -> None:
    rows = [
        VariantFigures("slim", 0.44, 301.7, 2, True, 20.26, 1.04, 0.812, 0.1),
        VariantFigures("long one", 2.0, 402.0, 3, False, 30.0, 2.5, 0.9, 0.3),
    ]
    head, slim, long_one = variant_table(rows)
    assert len({len(head), len(slim), len(long_one)}) == 1 and all(name in head for name in COLUMNS)
    assert variant_cells(rows[0]) == ("slim", "0.4", "302", "2", "20.3", "1.0", "81 %", "10 %")
    assert "3, too big" in long_one
    assert variant_report(rows[0])["mass_g"] == 301.7
