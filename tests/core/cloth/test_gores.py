# SPDX-License-Identifier: GPL-3.0-or-later
"""Surfaces cut into gores: strain kept, nothing lost."""

import numpy as np
import pytest

from addon.core.base.errors import ShapeError
from addon.core.cloth.gores import Gore, gores, zero_line
from addon.core.mesh.open_surface import Surface
from addon.core.mesh.triangle_mesh import TriangleMesh
from tests.core.laminate.grids import grid

RADIUS, TUBE = 300.0, 70.0


def torus_patch(span: float = 80.0, half: float = 65.0, rows: int = 61, columns: int = 25) -> Surface:
    """The outer part of a torus about x, as a fender: stations and turns of the tube in degrees."""

    def place(station: np.ndarray, turn: np.ndarray) -> np.ndarray:
        rho = RADIUS + TUBE * np.cos(turn)
        return np.stack([TUBE * np.sin(turn), -rho * np.sin(station), rho * np.cos(station)], axis=1)

    points, triangles = grid(
        np.radians(np.linspace(-half, half, columns)),
        np.radians(np.linspace(-span / 2, span / 2, rows)),
        lambda t, s: place(s, t),
    )
    middle = RADIUS * points * [0.0, 1.0, 1.0] / np.linalg.norm(points[:, 1:], axis=1)[:, None]
    normals = (points - middle) / TUBE
    facet = TriangleMesh(points, triangles).area_vectors
    if np.einsum("ij,ij->", facet, normals[triangles[:, 0]]) < 0:
        triangles = triangles[:, ::-1]
    return Surface(points, normals, triangles)


def along(points: np.ndarray) -> np.ndarray:
    return (RADIUS + TUBE) * np.arctan2(-points[:, 1], points[:, 2])


def edge_length(found: Gore) -> float:
    return sum(float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum()) for ring in found.outlines)


def surface_edge(sheet: Surface) -> float:
    boundary = sheet.boundary
    return float(np.linalg.norm(sheet.points[boundary.vertex[boundary.after]] - sheet.points[boundary.vertex], axis=1).sum())


@pytest.mark.parametrize("strain", [0.03, 0.015])
def test_gores_keep_their_strain_and_cover_the_surface(strain: float) -> None:
    patch = torus_patch()
    found = gores(patch, along, strain=strain, overlap=0.0)
    assert max(gore.strain for gore in found) <= strain
    whole = TriangleMesh(patch.points, patch.triangles).area
    assert sum(gore.surface_area for gore in found) == pytest.approx(whole, rel=2e-4)
    assert sum(gore.flat_area for gore in found) == pytest.approx(whole, rel=strain)
    for gore in found:
        assert edge_length(gore) == pytest.approx(surface_edge(gore.sheet), rel=strain)


def test_less_strain_takes_more_gores() -> None:
    patch = torus_patch()
    counts = [len(gores(patch, along, strain=strain, overlap=0.0)) for strain in (0.05, 0.02, 0.01)]
    assert counts[0] < counts[1] < counts[2]


def test_developable_surface_stays_in_one_piece() -> None:
    points, triangles = grid(
        np.linspace(-60.0, 60.0, 9),
        np.radians(np.linspace(-40.0, 40.0, 81)),
        lambda x, s: np.stack([x, -RADIUS * np.sin(s), RADIUS * np.cos(s)], axis=1),
    )
    sheet = Surface(points, points * [0.0, 1.0, 1.0] / RADIUS, triangles)
    (gore,) = gores(sheet, lambda p: RADIUS * np.arctan2(-p[:, 1], p[:, 2]), strain=0.01, overlap=20.0)
    assert gore.strain < 1e-5
    np.testing.assert_allclose(np.ptp(gore.flat, axis=0), [120.0, RADIUS * np.radians(80.0)], rtol=1e-4)


def test_overlap_and_shift() -> None:
    patch = torus_patch()
    plain = gores(patch, along, strain=0.03, overlap=25.0)
    moved = gores(patch, along, strain=0.03, overlap=25.0, shift=0.5)
    for gore in plain[:-1]:
        at = along(gore.sheet.points)
        assert gore.high - gore.seam == pytest.approx(25.0)
        assert (at.min(), at.max()) == pytest.approx((gore.low, gore.high), abs=0.01)
        line = gore.line(at - gore.seam)
        assert len(line) and np.abs(line[..., 1] - (gore.seam - 0.5 * (gore.low + gore.high))).max() < 12.0
    assert plain[-1].high == plain[-1].seam
    seams = {round(gore.seam, 3) for gore in plain[:-1]}
    assert not seams & {round(gore.seam, 3) for gore in moved[:-1]}
    assert moved[0].seam - moved[0].low == pytest.approx(0.5 * (moved[1].seam - moved[1].low))


def test_upright_and_not_mirrored() -> None:
    """Forward is up; what is on the left of the surface as seen from outside is on the left of the paper: x grows to the left there."""
    for gore in gores(torus_patch(), along, strain=0.03, overlap=0.0):
        at, x = along(gore.sheet.points), gore.sheet.points[:, 0]
        assert np.polyfit(at, gore.flat[:, 1], 1)[0] == pytest.approx(1.0, abs=0.05)
        assert np.polyfit(x, gore.flat[:, 0], 1)[0] < -0.8


def test_zero_line_of_a_triangle() -> None:
    line = zero_line(np.array([1.0, -1.0, -1.0]), np.array([[0, 1, 2]]), np.array([[0.0, 0], [2, 0], [0, 2]]))
    np.testing.assert_allclose(np.sort(line.reshape(-1, 2), axis=0), [[0.0, 0.0], [1.0, 1.0]])


def test_a_surface_that_bends_too_tightly_is_refused() -> None:
    with pytest.raises(ShapeError, match="allow more"):
        gores(torus_patch(rows=21, columns=11), along, strain=1e-5, overlap=0.0)
