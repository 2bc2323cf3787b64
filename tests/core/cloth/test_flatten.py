# SPDX-License-Identifier: GPL-3.0-or-later
"""Pieces laid flat: what can be developed is exact, a gore of a sphere has its closed form."""

import numpy as np
import pytest

from addon.core.cloth.flatten import _conformal, _far_pair, _local, _stretches, flatten
from addon.core.cloth.layered_solver import layers_from
from tests.core.laminate.grids import cylinder, grid

Mesh = tuple[np.ndarray, np.ndarray]


def lengths(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    corners = points[triangles]
    return np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)


def area(points: np.ndarray, triangles: np.ndarray) -> float:
    if points.shape[1] == 2:
        points = np.column_stack([points, np.zeros(len(points))])
    a, b, c = np.moveaxis(points[triangles], 1, 0)
    return float(0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum())


def test_cylinder_develops_exactly() -> None:
    points, triangles = cylinder(np.radians(np.linspace(-100.0, 100.0, 121)))
    flat = flatten(points, triangles)
    np.testing.assert_allclose(lengths(flat.points, triangles), lengths(points, triangles), rtol=1e-6)
    assert flat.strain.max() < 1e-6
    size = np.sort(np.ptp(flat.points @ np.linalg.svd(flat.points - flat.points.mean(axis=0))[2].T, axis=0))
    np.testing.assert_allclose(size, [50.0 * np.radians(200.0), 200.0], rtol=1e-4)


def test_cone_develops_to_a_sector() -> None:
    """Slant l and half angle a: a sector with the angle of turn times sin a; both ends are arcs about one point."""
    half = np.radians(25.0)
    points, triangles = grid(
        np.radians(np.linspace(0.0, 150.0, 151)),
        np.linspace(180.0, 60.0, 9),
        lambda turn, slant: np.stack(
            [slant * np.sin(half) * np.cos(turn), slant * np.sin(half) * np.sin(turn), -slant * np.cos(half)], axis=1
        ),
    )
    flat = flatten(points, triangles)
    assert flat.strain.max() < 1e-6
    rows = flat.points.reshape(151, 9, 2)
    far = np.linalg.norm(rows[-1, 0] - rows[0, 0])
    assert far == pytest.approx(2.0 * 180.0 * np.sin(0.5 * np.radians(150.0) * np.sin(half)), rel=1e-4)
    assert np.linalg.norm(rows[70, 0] - rows[70, 8]) == pytest.approx(120.0, rel=1e-6)


def sphere_gore(radius: float, half_turn: float, latitude: float) -> tuple[np.ndarray, np.ndarray, int, int]:
    us, vs = np.linspace(-latitude, latitude, 61), np.linspace(-half_turn, half_turn, 11)
    points, triangles = grid(
        vs,
        us,
        lambda turn, up: radius * np.stack([np.cos(up) * np.cos(turn), np.cos(up) * np.sin(turn), np.sin(up)], axis=1),
    )
    return points, triangles, len(vs), len(us)


@pytest.mark.parametrize("half_turn", [0.05, 0.1, 0.2])
def test_gore_of_a_sphere(half_turn: float) -> None:
    """The classic gore: half width R a cos(latitude) at R latitude along its middle; what is left is strain of the order a^2 / 3."""
    radius, latitude = 100.0, np.radians(70.0)
    points, triangles, across, along = sphere_gore(radius, half_turn, latitude)
    flat = flatten(points, triangles)
    assert 0.15 * half_turn**2 < flat.strain.max() < 0.6 * half_turn**2
    rows = flat.points.reshape(across, along, 2)
    up = np.linspace(-latitude, latitude, along)
    width = np.linalg.norm(rows[-1] - rows[0], axis=1)
    slack = 3.0 * half_turn**2
    np.testing.assert_allclose(width, 2.0 * radius * half_turn * np.cos(up), rtol=slack, atol=0.02)
    middle = rows[across // 2]
    assert np.linalg.norm(middle[-1] - middle[0]) == pytest.approx(2.0 * radius * latitude, rel=slack)
    assert area(flat.points, triangles) == pytest.approx(4.0 * half_turn * radius**2 * np.sin(latitude), rel=slack + 2e-3)


def test_less_strain_than_the_conformal_map_alone() -> None:
    points, triangles, _, _ = sphere_gore(100.0, 0.25, 1.1)
    local = _local(points, triangles)
    one, two = _far_pair(points)
    conformal = _conformal(local, triangles, layers_from(triangles, len(points), one), one, two)
    stretch = [
        np.square(_stretches(flat, local, triangles) - 1.0).sum() for flat in (flatten(points, triangles).points, conformal)
    ]
    assert stretch[0] < 0.8 * stretch[1]


def test_strain_is_what_lengths_show() -> None:
    points, triangles, _, _ = sphere_gore(100.0, 0.2, 1.0)
    flat = flatten(points, triangles)
    change = np.abs(lengths(points, triangles) / lengths(flat.points, triangles) - 1.0).max(axis=1)
    assert (change <= flat.strain + 1e-9).all()
    assert change.max() > 0.5 * flat.strain.max()


def test_a_turn_of_the_piece_changes_nothing() -> None:
    points, triangles, _, _ = sphere_gore(80.0, 0.15, 0.9)
    turn = np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))[0]
    turn[0] *= np.sign(np.linalg.det(turn))
    one, two = flatten(points, triangles), flatten(points @ turn.T + 7.0, triangles)
    np.testing.assert_allclose(lengths(one.points, triangles), lengths(two.points, triangles), rtol=1e-5)


def test_triangle_without_area_is_refused() -> None:
    with pytest.raises(ValueError, match="no area"):
        flatten(np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0]]), np.array([[0, 1, 2]]))
