# SPDX-License-Identifier: GPL-3.0-or-later
"""Patterns of the plies of a demo: strain kept, nothing lost, seams parted, drawn at full size."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from addon.core.base.wheel_axes import radius_of
from addon.core.cloth.ply_patterns import PlyPatterns, pattern_parts, patterns_report, ply_patterns
from addon.core.job.job_sheet import Laminate
from addon.core.mesh.open_surface import Surface
from addon.core.mesh.triangle_mesh import TriangleMesh
from tests.core.cloth.test_gores import torus_patch
from tests.core.laminate.grids import grid
from tests.core.laminate.scenes import scene


def laminate_of(**changes: object) -> Laminate:
    found = scene("front_mold", 3).job.laminate
    assert found is not None
    return replace(found, **changes)  # type: ignore[arg-type]


@lru_cache(maxsize=2)
def patterns(overlap: float) -> PlyPatterns:
    return ply_patterns(scene("front_mold", 3).surface, laminate_of(overlap=overlap))


def test_areas_and_lengths_add_up_to_the_surface_within_the_strain() -> None:
    found = patterns(0.0)
    whole = TriangleMesh(scene("front_mold", 3).surface.points, scene("front_mold", 3).surface.triangles).area
    assert found.strain <= 0.04
    for each in found.sets:
        assert sum(gore.surface_area for gore in each.gores) == pytest.approx(whole, rel=1e-3)
        assert sum(gore.flat_area for gore in each.gores) == pytest.approx(whole, rel=0.04)
        for gore in each.gores:
            edge = gore.sheet.boundary
            on = np.linalg.norm(gore.sheet.points[edge.vertex[edge.after]] - gore.sheet.points[edge.vertex], axis=1).sum()
            laid = sum(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum() for ring in gore.outlines)
            assert laid == pytest.approx(on, rel=0.04)


def test_every_ply_has_a_set_and_their_seams_are_apart() -> None:
    found = patterns(25.0)
    assert [each.plies for each in found.sets] == [(1, 3), (2,)]
    seams = [np.array([gore.seam for gore in each.gores if gore.seam != gore.high]) for each in found.sets]
    assert np.abs(seams[0][:, None] - seams[1][None]).min() > 8.0
    assert len(ply_patterns(scene("front_mold", 3).surface, laminate_of(plies=("CSM 450",))).sets) == 1


def test_strips_run_along_a_long_fender_and_across_a_wide_one() -> None:
    long = patterns(25.0).sets[0].gores[0]
    assert np.ptp(long.flat[:, 0]) > 2.0 * np.ptp(long.flat[:, 1])
    short = torus_patch(span=12.0, half=60.0)
    wide = ply_patterns(short, laminate_of(overlap=0.0)).sets[0].gores[0]
    assert np.ptp(radius_of(wide.sheet.points)) > 20.0  # reaches from side to side
    assert np.ptp(wide.flat[:, 0]) > 100.0


def test_overlap_is_nowhere_under_the_stated() -> None:
    for gore in patterns(25.0).sets[0].gores[:-1]:
        seam, far = gore.line(gore.along - gore.seam), gore.flat[np.abs(gore.along - gore.high) < 0.3]
        apart = np.linalg.norm(far[:, None] - seam.reshape(-1, 2)[None], axis=2).min(axis=1)
        assert apart.min() > 25.0 * (1.0 - 0.04)


def test_parts_are_the_gores_at_full_size_with_their_marks() -> None:
    found, laminate = patterns(25.0), laminate_of()
    parts = pattern_parts(found, laminate)
    gores = [gore for each in found.sets for gore in each.gores]
    assert [part.name for part in parts] == [f"{each.name}{gore.number}" for each in found.sets for gore in each.gores]
    for part, gore in zip(parts, gores, strict=True):
        x, y = part.rings[0].T
        area = 0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)
        assert area == pytest.approx(gore.flat_area, rel=1e-6)
        texts = [label.text for label in part.labels]
        assert texts[0] == part.name and "front" in texts and any("CSM" in text for text in texts)
        assert any("4.0 %" in note or f"{100.0 * gore.strain:.1f} %" in note for note in part.notes)
    marked = sum(len(part.lines) for part in parts)
    assert marked >= 2 * len(parts) + len(parts) - 2  # an arrow each, and a seam on all but the last of each set


def test_cylinder_lies_flat_in_one_piece_and_its_front_is_marked() -> None:
    points, triangles = grid(
        np.linspace(-60.0, 60.0, 9),
        np.radians(np.linspace(-10.0, 50.0, 61)),
        lambda x, s: np.stack([x, -300.0 * np.sin(s), 300.0 * np.cos(s)], axis=1),
    )
    surface = Surface(points, points * [0.0, 1.0, 1.0] / 300.0, triangles)
    found = ply_patterns(surface, laminate_of())
    report = patterns_report(found, laminate_of())
    assert report["sets"][0]["gores"] == 1 and report["strain"] < 1e-4
    assert report["sets"][0]["flat_cm2"] == pytest.approx(report["surface_cm2"], rel=1e-5)
    arrow = pattern_parts(found, laminate_of())[0].lines[-2]
    gore = found.sets[0].gores[0]
    ahead = gore.flat[np.argmin(gore.sheet.points[:, 1])] - gore.flat[np.argmax(gore.sheet.points[:, 1])]
    assert (arrow[1] - arrow[0]) @ ahead > 0.0
