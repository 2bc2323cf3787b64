# SPDX-License-Identifier: GPL-3.0-or-later
"""Letters as strokes, and as raised bars that are closed and of the right size."""

from itertools import pairwise

import numpy as np
import pytest
import trimesh

from addon.core.base.errors import ShapeError
from addon.core.drawing.lettering import _STROKES, spelled, text_strokes, text_width
from addon.core.gauges.label import Row, fitted
from addon.core.gauges.prisms import band_prism, convex_prism, cylinder, frame_place, stroke_prisms

PLACE = frame_place([1.0, 2.0, 3.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0])


def test_every_letter_stays_in_its_cell() -> None:
    for letter in _STROKES:
        for stroke in text_strokes(letter, 5.0, 1.0):
            assert len(stroke) >= 2 and (np.linalg.norm(np.diff(stroke, axis=0), axis=1) > 0.0).all()
            assert (stroke >= 0.5 - 1e-9).all() and (stroke[:, 1] <= 4.5 + 1e-9).all()
            assert (stroke[:, 0] <= text_width(letter, 5.0, 1.0) - 0.5 + 1e-9).all()


def test_letters_differ_from_each_other() -> None:
    """At 10 x 15 cells no two characters of the table cover the same cells."""
    seen: dict[bytes, str] = {}
    for letter in _STROKES:
        raster = np.zeros((15, 10), bool)
        for stroke in text_strokes(letter, 7.0, 1.0):
            for a, b in pairwise(stroke):
                along = a + np.linspace(0.0, 1.0, 60)[:, None] * (b - a)
                raster[(along[:, 1] / 7.0 * 15).astype(int), (along[:, 0] / 5.0 * 10).astype(int)] = True
        assert raster.tobytes() not in seen, (letter, seen.get(raster.tobytes()))
        seen[raster.tobytes()] = letter


def test_text_is_as_wide_as_stated_and_unknown_letters_are_marked() -> None:
    strokes = text_strokes("HIH", 6.0, 1.0)
    right = max(stroke[:, 0].max() for stroke in strokes) + 0.5
    assert right == pytest.approx(text_width("HIH", 6.0, 1.0)) and min(s[:, 0].min() for s in strokes) == pytest.approx(0.5)
    assert spelled("Vélo-ß\u0416") == "VELO-SS?"
    with pytest.raises(ValueError, match="height"):
        text_strokes("A", 1.0, 1.0)


@pytest.mark.parametrize("height", [4.0, 5.0, 8.0])
def test_bars_of_every_letter_are_closed_and_face_outward(height: float) -> None:
    for letter in _STROKES:
        bars = stroke_prisms(text_strokes(letter, height, 1.0), 1.0, -0.3, 0.8, PLACE)
        assert bars
        for bar in bars:
            assert bar.is_closed and bar.volume > 0.0
            solid = trimesh.Trimesh(bar.vertices, bar.triangles, process=False)
            assert solid.is_volume and 1.1 - 1e-9 < np.ptp(bar.vertices[:, 0]) < 1.3 + 1e-9


@pytest.mark.parametrize("height", [4.0, 4.6, 6.0])
def test_no_bar_overlaps_itself(height: float) -> None:
    """Seen from above, no point of a grid lies under two top triangles of one bar."""
    grid = np.stack(np.meshgrid(np.arange(-1.0, 6.0, 0.07), np.arange(-1.0, 8.0, 0.07)), axis=-1).reshape(-1, 2) + 0.0123
    for letter in _STROKES:
        for bar in stroke_prisms(text_strokes(letter, height, 1.0), 1.0, 0.0, 1.0, frame_place([0.0] * 3, *np.eye(3))):
            covered = np.zeros(len(grid), int)
            for a, b, c in bar.corners[bar.area_vectors[:, 2] > 1e-9][:, :, :2]:
                sides = [(q - p)[0] * (grid - p)[:, 1] - (q - p)[1] * (grid - p)[:, 0] for p, q in ((a, b), (b, c), (c, a))]
                covered += np.min(sides, axis=0) > 0.0
            assert covered.max() == 1, letter


def test_bar_of_a_straight_stroke_has_the_volume_of_a_box() -> None:
    (bar,) = stroke_prisms((np.array([[0.0, 0.0], [3.0, 0.0]]),), 1.0, 0.0, 0.8, PLACE)
    assert bar.volume == pytest.approx(4.0 * 1.0 * 0.8)


def test_a_ring_is_mitered_without_a_seam() -> None:
    """An octagon stroke with circumradius 4: area of the ring is the perimeter times the width."""
    angle = np.linspace(0.0, 2.0 * np.pi, 9)
    ring = 4.0 * np.column_stack([np.cos(angle), np.sin(angle)])
    (bar,) = stroke_prisms((ring,), 1.0, 0.0, 2.0, PLACE)
    assert bar.volume == pytest.approx(8 * 2 * 4.0 * np.sin(np.pi / 8) * 1.0 * 2.0, rel=1e-9) and bar.genus == 1


def test_prisms_have_the_volumes_of_their_closed_forms() -> None:
    lower = np.array([[0.0, 0.0], [5.0, 1.0], [10.0, 0.0]])
    band = band_prism(lower, lower + [0.0, 4.0], -1.0, 2.0, PLACE)
    assert band.is_closed and band.volume == pytest.approx(10.0 * 4.0 * 3.0)
    assert cylinder([3.0, 1.0], 3.3, 0.0, 5.0, PLACE).volume == pytest.approx(np.pi * 3.3**2 * 5.0, rel=1e-12)
    box = convex_prism(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 3.0], [0.0, 3.0]]), 0.0, 4.0, PLACE)
    assert box.is_closed and box.volume == pytest.approx(24.0)
    np.testing.assert_allclose(box.bounds, [[1.0, 2.0, 3.0], [5.0, 4.0, 6.0]])


def test_a_date_that_finds_no_room_is_left_out_and_told() -> None:
    """A crown strip beside a broad seat: a row of 20 mm takes the station in letters of 4 mm, not the eight figures of a date."""
    lines, cautions = fitted((Row(0, (0.0, 0.0), 20.0, 5.0),), ("ST+0", "2026-11-25"), "fender", 1.0, "strip")
    assert [line.text for line in lines] == ["ST+0"]
    assert any("no room for '20261125'; write it on by hand" in caution for caution in cautions)
    with pytest.raises(ShapeError, match="no room for the label"):
        fitted((Row(0, (0.0, 0.0), 8.0, 5.0),), ("ST+0", "2026-11-25"), "fender", 1.0, "strip")
