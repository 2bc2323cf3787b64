# SPDX-License-Identifier: GPL-3.0-or-later
"""Shells whose answers are known: closed forms, and the obstacle course of shell elements.

R. H. MacNeal, R. L. Harder, A proposed standard set of problems to test finite element accuracy, Finite Elements in Analysis and
Design 1 (1985) 3-20: straight beam, curved beam, Scordelis-Lo roof; references as Altair's verification manual prints them.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.shells.elastic import Elastic
from addon.core.shells.shell_model import ShellModel, UnheldShellError
from addon.core.shells.stresses import face_stresses
from tests.core.shells.shell_scenes import edge_force, grid_shell, held, pressed


def test_strip_of_plastic() -> None:
    """Cantilever strip, L 200, b 30, h 3, E 2000, 1 N: P L^3 / (3 E I) = 19.753 mm, and 3.5160 / (2 pi L^2) sqrt(E h^2 / (12 rho)) =
    15.204 Hz; the plate is a little stiffer at its root, where it cannot narrow."""
    mesh = grid_shell(40, 6, lambda u, v: (200.0 * u, 30.0 * v, 0.0 * u), 3.0)
    x = mesh.points[:, 0]
    model = ShellModel(mesh, Elastic(2000.0, 0.0, 1.27), held(mesh, x == 0.0))
    tip = x == 200.0
    assert_allclose(model.movement(edge_force(mesh, tip, 2))[tip, 2].mean(), 19.753, rtol=0.002)
    assert_allclose(model.modes(1).frequencies_hz, [15.204], rtol=0.003)


def test_square_cantilever_plate() -> None:
    """SDLS01 (M. V. Barton, Journal of Applied Mechanics 18, 1951): a 1 m, t 10 mm, E 2.1e5, rho 7.8, nu 0.3."""
    mesh = grid_shell(20, 20, lambda u, v: (1000.0 * u, 1000.0 * v, 0.0 * u), 10.0)
    model = ShellModel(mesh, Elastic(2.1e5, 0.3, 7.8), held(mesh, mesh.points[:, 0] == 0.0))
    modes = model.modes(6)
    assert_allclose(modes.frequencies_hz, [8.7266, 21.304, 53.554, 68.298, 77.745, 136.05], rtol=0.02)
    assert_allclose(np.linalg.norm(modes.shapes[..., :3], axis=2).max(axis=1), 1.0)


def test_square_plate_on_its_edges() -> None:
    """Simply supported, uniform load: 0.004062 q a^4 / D (Navier); first frequency 2 pi^2 / (2 pi a^2) sqrt(D / (rho t))."""
    side, thickness, material = 1000.0, 10.0, Elastic(2.1e5, 0.3, 7.8)
    mesh = grid_shell(32, 32, lambda u, v: (side * u, side * v, 0.0 * u), thickness)
    fixed = np.zeros((len(mesh.points), 6), bool)
    on_x, on_y = (np.isin(mesh.points[:, axis], (0.0, side)) for axis in (0, 1))
    fixed[on_x | on_y, 2] = fixed[:, :2] = True
    fixed[on_x, 3] = fixed[on_y, 4] = True
    model = ShellModel(mesh, material, fixed)
    rigidity = 2.1e5 * thickness**3 / 12.0 / (1.0 - 0.3**2)
    most = model.movement(pressed(mesh, 1e-3, 2))[:, 2].max()
    assert_allclose(most, 0.004062 * 1e-3 * side**4 / rigidity, rtol=0.003)
    exact = np.pi / side**2 * np.sqrt(rigidity / (7.8e-9 * thickness))
    assert_allclose(model.modes(1).frequencies_hz, [exact], rtol=0.003)


def test_straight_beam() -> None:
    """6 x 0.2 x 0.1, E 1e7, nu 0.3: 3e-5, 0.1081 and 0.4321 under 1 at its end, along, in its plane, out of it."""
    mesh = grid_shell(60, 6, lambda u, v: (6.0 * u, 0.2 * v, 0.0 * u), 0.1)
    x = mesh.points[:, 0]
    model = ShellModel(mesh, Elastic(1e7, 0.3, 1.0), held(mesh, x == 0.0))
    tip = x == 6.0
    moved = [model.movement(edge_force(mesh, tip, axis))[tip, axis].mean() for axis in range(3)]
    assert_allclose(moved, [3e-5, 0.1081, 0.4321], rtol=0.01)


def test_curved_beam() -> None:
    """A quarter circle, radii 4.12 and 4.32, t 0.1, E 1e7, nu 0.25: 0.08734 in its plane, 0.5022 out of it; the formula of a thin
    arc gives 0.0885 and 0.5003. It is twice as wide as thick, so that its twist hangs on the shear at its edges."""

    def place(u: np.ndarray, v: np.ndarray) -> tuple[np.ndarray, ...]:
        radius, turn = 4.12 + 0.2 * 0.5 * (1.0 - np.cos(np.pi * v)), 0.5 * np.pi * u
        return radius * np.cos(turn), radius * np.sin(turn), 0.0 * u

    mesh = grid_shell(560, 12, place, 0.1)
    model = ShellModel(mesh, Elastic(1e7, 0.25, 1.0), held(mesh, np.arange(len(mesh.points)) < 13))
    tip = np.arange(len(mesh.points)) >= len(mesh.points) - 13
    moved = [model.movement(edge_force(mesh, tip, axis))[tip, axis].mean() for axis in (1, 2)]
    assert_allclose(moved[0], 0.08734, rtol=0.02)
    assert_allclose(moved[1], 0.5022, rtol=0.01)


def test_twisted_strip() -> None:
    """J = 0.229 b t^3 for b = 2 t (S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, 109); without shear it would be 0.333."""
    mesh = grid_shell(160, 16, lambda u, v: (2.0 * u, 0.2 * v - 0.1, 0.0 * u), 0.1)
    x = mesh.points[:, 0]
    model = ShellModel(mesh, Elastic(1e7, 0.25, 1.0), held(mesh, x == 0.0))
    moved = model.movement(edge_force(mesh, x == 2.0, 3))
    turned = moved[np.isclose(x, 1.5), 3].mean() - moved[np.isclose(x, 0.5), 3].mean()
    assert_allclose(1.0 / (4e6 * turned), 0.229 * 0.2 * 0.1**3, rtol=0.01)


@pytest.mark.parametrize(("number", "error"), [(8, 0.012), (16, 0.004), (32, 0.004)])
def test_scordelis_lo_roof(number: int, error: float) -> None:
    """Middle of the free edge: 0.3024 in the obstacle course, 0.3006 to 0.3008 where fine meshes converge to; a quarter of it."""
    angle = np.radians(40.0)
    mesh = grid_shell(number, number, lambda u, v: (25.0 * np.sin(angle * u), 25.0 * v, 25.0 * np.cos(angle * u)), 0.25)
    x, y = mesh.points[:, 0], mesh.points[:, 1]
    fixed = np.zeros((len(x), 6), bool)
    fixed[np.ix_(x == 0.0, [0, 4, 5])] = fixed[np.ix_(y == 0.0, [1, 3, 5])] = fixed[np.ix_(y == 25.0, [0, 2, 4])] = True
    moved = ShellModel(mesh, Elastic(4.32e8, 0.0, 1.0), fixed).movement(pressed(mesh, -90.0, 2))
    middle = np.argmax(x - y)
    assert_allclose(moved[middle, 2], -0.3024, rtol=0.03)
    assert_allclose(moved[middle, 2], -0.3006, rtol=error)


def test_stress_of_a_strip() -> None:
    """Bending stress at the middle of a cantilever: 6 M / (b h^2), pull on the side that is stretched."""
    mesh = grid_shell(40, 6, lambda u, v: (200.0 * u, 30.0 * v, 0.0 * u), 3.0)
    material = Elastic(2000.0, 0.3, 1.27)
    x = mesh.points[:, 0]
    moved = ShellModel(mesh, material, held(mesh, x == 0.0)).movement(edge_force(mesh, x == 200.0, 2, -1.0))
    outer, inner = face_stresses(mesh, material, moved)
    middle = np.abs(mesh.centers[:, 0] - 100.0) < 5.0
    exact = 6.0 * (200.0 - mesh.centers[middle, 0]).mean() / (30.0 * 3.0**2)
    assert_allclose(outer[middle, 0, 0].mean(), exact, rtol=0.01)
    assert_allclose(inner[middle, 0, 0].mean(), -exact, rtol=0.01)


def test_free_shell_is_refused_with_a_place() -> None:
    mesh = grid_shell(4, 2, lambda u, v: (40.0 * u, 20.0 * v, 0.0 * u), 3.0)
    with pytest.raises(UnheldShellError, match="not held") as caught:
        ShellModel(mesh, Elastic(2000.0, 0.3, 1.27), np.zeros((len(mesh.points), 6), bool))
    assert caught.value.point.shape == (3,)
    pinned = np.zeros((len(mesh.points), 6), bool)
    pinned[0, :3] = True  # it can still turn about that point
    with pytest.raises(UnheldShellError):
        ShellModel(mesh, Elastic(2000.0, 0.3, 1.27), pinned)
