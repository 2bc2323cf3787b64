# SPDX-License-Identifier: GPL-3.0-or-later
"""What the build sheet draws and writes: line views, section figures, lines of text."""

from itertools import pairwise

import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose
from pypdf._codecs.core_font_metrics import CORE_FONT_METRICS

from addon.core.bodies.meridian_body import MeridianBody
from addon.core.drawing.text_lines import text_lines
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.tables.helvetica import advance
from addon.core.views.line_view import FRONT, SIDE, TOP, line_view
from addon.core.views.section_figures import section_figures, section_stations
from tests.core.printing.test_print_plan import arc


def mesh_of(body: trimesh.Trimesh) -> TriangleMesh:
    return TriangleMesh(body.vertices, body.faces)


def length(stretches: np.ndarray) -> float:
    return float(np.linalg.norm(stretches[:, 1] - stretches[:, 0], axis=1).sum())


@pytest.mark.parametrize(("eye", "sides"), [(SIDE, (20.0, 30.0)), (FRONT, (10.0, 30.0)), (TOP, (20.0, 10.0))])
def test_a_block_is_seen_as_its_rectangle(eye: np.ndarray, sides: tuple[float, float]) -> None:
    """Block 10 x 20 x 30: four edges of the near face; the far ones hide behind them or fall on them."""
    seen = line_view(mesh_of(trimesh.creation.box((10.0, 20.0, 30.0))), eye)
    assert_allclose(np.ptp(seen.reshape(-1, 2), axis=0), sides)
    on_rim = np.isclose(np.abs(seen) * 2.0, sides, atol=1e-9).all(axis=1).any(axis=1)
    assert on_rim.all()
    assert 2.0 * sum(sides) - 1e-6 <= length(seen) <= 4.0 * sum(sides) + 1e-6


def test_eyes_are_rotations_that_keep_the_front_where_it_is_said_to_be() -> None:
    for eye in (SIDE, FRONT, TOP):
        assert_allclose(eye @ eye.T, np.eye(3))
        assert_allclose(np.linalg.det(eye), 1.0)
    forward, left = np.array([0.0, -1.0, 0.0]), np.array([1.0, 0.0, 0.0])
    assert (SIDE @ forward)[0] == -1.0 and (TOP @ forward)[0] == -1.0 and (FRONT @ left)[0] == 1.0


def test_a_cube_over_a_corner_shows_nine_edges() -> None:
    """Isometric view: 9 of the 12 edges are seen, each sqrt(2/3) of its length."""
    eye = np.array([[1.0, -1.0, 0.0], [-1.0, -1.0, 2.0], [1.0, 1.0, 1.0]])
    eye /= np.linalg.norm(eye, axis=1, keepdims=True)
    eye[0] *= np.linalg.det(eye)
    seen = line_view(mesh_of(trimesh.creation.box((10.0, 10.0, 10.0))), eye)
    assert_allclose(length(seen), 9.0 * 10.0 * np.sqrt(2.0 / 3.0), rtol=0.03)


def test_a_sphere_is_seen_as_a_circle_and_hides_what_is_behind() -> None:
    """Outline of an icosphere: within a facet of the circle. A small block behind it leaves no line."""
    ball = trimesh.creation.icosphere(subdivisions=5, radius=20.0)
    block = trimesh.creation.box((4.0, 4.0, 4.0), trimesh.transformations.translation_matrix([-30.0, 3.0, 2.0]))
    alone, both = (line_view(mesh_of(body), SIDE) for body in (ball, trimesh.util.concatenate([ball, block])))
    assert_allclose(np.linalg.norm(alone, axis=2), 20.0, rtol=0.01)
    assert_allclose(length(both), length(alone), rtol=0.02)
    ahead = trimesh.util.concatenate([ball, block.copy().apply_translation([60.0, 0.0, 0.0])])
    assert length(line_view(mesh_of(ahead), SIDE)) - length(alone) > 15.0


def test_section_of_an_arc_has_the_figures_it_was_made_with() -> None:
    """Arc of radius 340, wall 4, width 90, over a flat tire of radius 300 and half width 60."""
    tire = MeridianBody(np.array([[0.0, 300.0], [60.0, 300.0]]))
    found = section_figures(arc(38.0, -2.0), tire, 10.0)
    assert_allclose([found.width_mm, found.drop_mm, found.wall_mm, found.crown_gap_mm], [90.0, 4.0, 4.0, 40.0], atol=2e-3)
    assert_allclose([found.top, found.bottom, found.least_gap_mm], [344.0, 340.0, 40.0], atol=2e-3)
    with pytest.raises(ValueError, match="no section at station 60"):
        section_figures(arc(38.0, -2.0), tire, 60.0)


def test_stations_lie_at_the_mount_and_midway_to_the_ends() -> None:
    """Ends at 38 and -22, 4 degrees inside of them taken: (0 + 34) / 2 and (0 - 18) / 2."""
    assert section_stations(arc(38.0, -22.0), 0.3) == (17.0, 0.0, -9.0)


@pytest.mark.parametrize(("font", "bold"), [("Helvetica", False), ("Helvetica-Bold", True)])
def test_letter_widths_equal_those_that_another_library_carries(font: str, bold: bool) -> None:
    """pypdf has its own copy of Adobe's metrics of the standard fonts."""
    widths = CORE_FONT_METRICS[font].character_widths
    letters = [letter for letter in map(chr, range(33, 127)) if letter in widths and letter not in "'`"]
    assert len(letters) > 80
    for letter in letters:
        assert_allclose(1000.0 * advance(letter, bold), widths[letter], err_msg=letter)


def test_lines_fit_and_keep_every_word() -> None:
    text = "Wheel spun by hand, three turns each way: no touch, no rub, no sound " * 4
    lines = text_lines(text, 60.0, 3.0)
    assert " ".join(lines) == " ".join(text.split())
    assert max(3.0 * advance(line) for line in lines) <= 60.0
    assert all(3.0 * advance(f"{a} {b.split()[0]}") > 60.0 for a, b in pairwise(lines))


def test_a_word_that_is_too_long_is_broken() -> None:
    lines = text_lines("see gauges/" + "x" * 60 + " there", 30.0, 3.0)
    assert "".join(lines).replace(" ", "") == "seegauges/" + "x" * 60 + "there"
    assert max(3.0 * advance(line) for line in lines) <= 30.0
    assert text_lines("", 30.0, 3.0) == [""]
