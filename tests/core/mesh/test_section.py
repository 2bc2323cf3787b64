# SPDX-License-Identifier: GPL-3.0-or-later
"""Sections of surfaces against closed forms and trimesh."""

import numpy as np
import pytest
import trimesh

from addon.core.base.wheel_axes import point_at
from addon.core.mesh.section import plane_cut, section, side_profile


def _torus_part(half: bool = False, columns: int = 41, rows: int = 31) -> tuple[np.ndarray, np.ndarray]:
    """Crown part of a torus: ring radius 250, tube radius 80, stations -70 to 40; quads counterclockwise from outside."""
    across = np.linspace(0.0 if half else -1.2, 1.2, columns)
    station = np.linspace(-70.0, 40.0, rows)
    s, a = np.meshgrid(station, across, indexing="ij")
    points = point_at(250.0 + 80.0 * np.cos(a), s, 80.0 * np.sin(a)).reshape(-1, 3)
    i = (np.arange(rows - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    return points, np.column_stack([i, i + columns, i + columns + 1, i + 1])


def test_section_of_a_torus_is_its_circle() -> None:
    points, quads = _torus_part()
    for station in (-66.0, -10.3, 0.0, 39.9):
        cut = section(points, quads, station)
        assert len(cut.polylines) == 1 and cut.station_deg == station
        line = cut.polylines[0]
        assert line[0, 0] == pytest.approx(80.0 * np.sin(1.2), abs=0.05) and line[-1, 0] == pytest.approx(-line[0, 0], abs=0.05)
        assert (np.diff(line[:, 0]) < 0.0).all()
        # Facets lie inside: across by the chord of 3.4 degrees on the tube, along by that of 3.7 degrees on the ring.
        off = np.hypot(line[:, 0], line[:, 1] - 250.0) - 80.0
        assert off.max() < 1e-9 and off.min() > -80.0 * (1 - np.cos(0.03)) - 330.0 * (1 - np.cos(np.radians(1.84))) - 1e-6


def test_station_past_the_surface_gives_nothing_and_the_far_side_is_not_taken() -> None:
    points, quads = _torus_part()
    assert section(points, quads, 80.0).polylines == ()
    assert section(points, quads, 170.0).polylines == ()


def test_half_of_a_mirrored_surface_is_cut_along_its_end() -> None:
    points, quads = _torus_part(half=True)
    (line,) = side_profile(points, quads)
    np.testing.assert_allclose(np.hypot(*line.T), 330.0, atol=1e-9)
    assert len(line) == 31 and (np.diff(line[:, 0]) > 0.0).all()
    (image,) = side_profile(points * [-1.0, 1.0, 1.0], quads)
    np.testing.assert_allclose(image, line, atol=1e-9)
    whole, faces = _torus_part()
    (again,) = side_profile(whole, faces)
    np.testing.assert_allclose(again[[0, -1]], line[[0, -1]], atol=1e-9)


def test_plane_through_rows_of_points_cuts_once() -> None:
    """Station 7 of the grid holds a whole row of points: no segment twice, none lost."""
    points, quads = _torus_part(rows=12)
    station = float(np.linspace(-70.0, 40.0, 12)[7])
    (line,) = section(points, quads, station).polylines
    assert len(line) == 41
    np.testing.assert_allclose(np.hypot(line[:, 0], line[:, 1] - 250.0), 80.0, atol=1e-6)


def test_random_planes_agree_with_trimesh() -> None:
    ball = trimesh.creation.icosphere(subdivisions=3, radius=40.0)
    random = np.random.default_rng(2)
    for _ in range(10):
        normal = random.standard_normal(3)
        normal /= np.linalg.norm(normal)
        origin = 20.0 * random.standard_normal(3) / 3.0
        (ring,) = plane_cut(ball.vertices, ball.faces, origin, normal)
        np.testing.assert_allclose(ring[0], ring[-1])
        other = ball.section(plane_normal=normal, plane_origin=origin)
        assert np.linalg.norm(np.diff(ring, axis=0), axis=1).sum() == pytest.approx(other.length, rel=1e-9)


def test_pieces_and_rings_come_apart() -> None:
    box = trimesh.creation.box((4.0, 4.0, 4.0))
    points = np.concatenate([box.vertices + [0.0, 0.0, 300.0], box.vertices + [20.0, 0.0, 300.0]])
    faces = np.concatenate([box.faces, box.faces + 8])
    rings = section(points, faces, 0.0).polylines
    assert len(rings) == 2
    for ring in rings:
        np.testing.assert_allclose(ring[0], ring[-1])
        assert np.linalg.norm(np.diff(ring, axis=0), axis=1).sum() == pytest.approx(16.0)


def test_faces_of_another_shape_are_refused() -> None:
    with pytest.raises(ValueError, match="faces"):
        section(np.zeros((3, 3)), np.zeros((1, 5), int), 0.0)
