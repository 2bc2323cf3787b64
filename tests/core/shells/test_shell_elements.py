# SPDX-License-Identifier: GPL-3.0-or-later
"""Single shell elements and patches of them: rigid motion, constant strain, exact bending."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from addon.core.shells.elastic import Elastic
from addon.core.shells.membrane_triangle import membrane_stiffness
from addon.core.shells.shell_elements import element_stiffness, point_mass
from addon.core.shells.shell_mesh import ShellMesh
from addon.core.shells.shell_model import ShellModel
from addon.core.shells.stresses import face_stresses
from tests.core.shells.shell_scenes import grid_shell, held

PLASTIC = Elastic(2000.0, 0.3, 1.27)


def some_triangle() -> ShellMesh:
    points = 10.0 * np.random.default_rng(3).standard_normal((3, 3))
    return ShellMesh(points, np.array([[0, 1, 2]]), np.array([2.0, 2.5, 1.5]))


def rigid_motions(points: np.ndarray) -> np.ndarray:
    """(6, n, 6) small motions of the whole."""
    motions = np.zeros((6, len(points), 6))
    for axis in range(3):
        turn = np.eye(3)[axis]
        motions[axis, :, axis] = 1.0
        motions[3 + axis, :, :3] = np.cross(turn, points)
        motions[3 + axis, :, 3 + axis] = 1.0
    return motions


def patch() -> ShellMesh:
    """A square of irregular triangles, in a tilted plane."""
    mesh = grid_shell(4, 4, lambda u, v: (100.0 * u, 80.0 * v, 0.0 * u), 3.0)
    inside = ((mesh.points[:, 0] % 100.0 > 0.0) & (mesh.points[:, 1] % 80.0 > 0.0))[:, None]
    shift = 6.0 * np.random.default_rng(5).uniform(-1.0, 1.0, mesh.points.shape) * [1.0, 1.0, 0.0]
    return ShellMesh((mesh.points + inside * shift) @ TILT.T, mesh.triangles, mesh.thickness)


TILT = Rotation.from_rotvec([0.3, -0.5, 0.8]).as_matrix()


def test_no_force_from_rigid_motion() -> None:
    """Six and only six motions of an element cost nothing."""
    mesh = some_triangle()
    stiffness = element_stiffness(mesh, PLASTIC)[0]
    assert_allclose(stiffness, stiffness.T, atol=1e-12 * np.abs(stiffness).max())
    for motion in rigid_motions(mesh.points):
        assert_allclose(stiffness @ motion.ravel(), 0.0, atol=1e-9 * np.abs(stiffness).max())
    values = np.linalg.eigvalsh(stiffness)
    assert (np.abs(values[:6]) < 1e-10 * values[-1]).all() and values[6] > 1e-6 * values[-1]


def test_turned_element_is_as_stiff() -> None:
    mesh = some_triangle()
    turned = ShellMesh(mesh.points @ TILT.T + [5.0, -3.0, 1.0], mesh.triangles, mesh.thickness)
    ends = np.kron(np.eye(6), TILT)
    assert_allclose(element_stiffness(turned, PLASTIC)[0], ends @ element_stiffness(mesh, PLASTIC)[0] @ ends.T, atol=1e-8)


@pytest.mark.parametrize("case", range(6))
def test_patch_of_constant_strain(case: int) -> None:
    """Patch test (B. M. Irons): with the rim moved as a constant stretch or bend asks, all inside follows, at the exact stress."""
    mesh = patch()
    flat = mesh.points @ TILT
    x, y = flat[:, 0], flat[:, 1]
    zero = np.zeros(len(x))
    strain = np.zeros(3)
    strain[case % 3] = 1e-3
    exx, eyy, gxy = strain
    if case < 3:
        local = np.stack([exx * x + 0.5 * gxy * y, eyy * y + 0.5 * gxy * x, zero, zero, zero, zero], axis=1)
    else:  # curvatures of the same size, 1/mm: w = -(k x^2 / 2), beta = -grad w, theta_x = -beta_y, theta_y = beta_x
        slope_x, slope_y = exx * x + 0.5 * gxy * y, eyy * y + 0.5 * gxy * x
        local = np.stack([zero, zero, -0.5 * (exx * x**2 + eyy * y**2 + gxy * x * y), -slope_y, slope_x, zero], axis=1)
    exact = np.hstack([local[:, :3] @ TILT.T, local[:, 3:] @ TILT.T])
    rim = (np.abs(flat[:, :2] - [50.0, 40.0]) > [49.999, 39.999]).any(axis=1)
    moved = _with_rim_moved(mesh, rim, exact)
    assert_allclose(moved, exact, atol=1e-9)
    outer, inner = face_stresses(mesh, PLASTIC, moved)
    height = 1.0 if case < 3 else 0.5 * 3.0
    xx, yy, xy = PLASTIC.plane_stress @ (height * strain)
    expected = TILT @ np.array([[xx, xy, 0.0], [xy, yy, 0.0], [0.0, 0.0, 0.0]]) @ TILT.T
    assert_allclose(outer, np.broadcast_to(expected, outer.shape), atol=1e-9 * 2000.0)
    assert_allclose(inner, outer if case < 3 else -outer, atol=1e-9 * 2000.0)


def _with_rim_moved(mesh: ShellMesh, rim: np.ndarray, exact: np.ndarray) -> np.ndarray:
    """What the points inside do when those of the rim are moved."""
    free = ShellModel(mesh, PLASTIC, held(mesh, rim))
    freedoms = (6 * mesh.triangles[:, :, None] + np.arange(6)).reshape(-1, 18)
    start = np.where(held(mesh, rim), exact, 0.0)
    forces = np.zeros(start.size)
    local = np.einsum("mij,mj->mi", element_stiffness(mesh, PLASTIC), start.ravel()[freedoms])
    np.add.at(forces, freedoms, local)
    return start + free.movement(-forces.reshape(start.shape))


@pytest.mark.parametrize("ratio", [1.0, 3.0, 10.0])
@pytest.mark.parametrize("poisson", [0.0, 0.3])
def test_two_triangles_bend_in_their_plane_as_a_beam(ratio: float, poisson: float) -> None:
    """The energy of a rectangle in pure bending is a beam's at any aspect ratio (Felippa 2003, the aim of OPT)."""
    points = np.array([[0.0, 0.0], [ratio, 0.0], [ratio, 1.0], [0.0, 1.0]]) - [0.5 * ratio, 0.5]
    triangles = np.array([[0, 1, 2], [0, 2, 3]])
    material = Elastic(1.0, poisson, 1.0)
    stiffness = membrane_stiffness(points[triangles], np.ones(2), material.plane_stress, poisson)
    x, y = points.T
    bent = np.stack([-x * y, 0.5 * x**2 + 0.5 * poisson * y**2, x], axis=1)
    energy = sum(0.5 * bent[row].ravel() @ one @ bent[row].ravel() for row, one in zip(triangles, stiffness, strict=True))
    assert_allclose(energy, 0.5 * ratio / 12.0, rtol=1e-9)


def test_mass_of_the_points_is_that_of_the_wall() -> None:
    mesh = some_triangle()
    mass = point_mass(mesh, PLASTIC)
    assert_allclose(mass[:, :3].sum(axis=0), 1.27e-9 * mesh.areas[0] * 2.0)


def test_what_a_shell_may_not_be() -> None:
    points = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0]])
    with pytest.raises(ValueError, match="no area"):
        ShellMesh(points, np.array([[0, 1, 2]]), np.ones(3))
    with pytest.raises(ValueError, match="thickness: least is 0"):
        ShellMesh(points, np.array([[0, 1, 2]]), np.zeros(3))
    with pytest.raises(ValueError, match="names point 3 of 3"):
        ShellMesh(points, np.array([[0, 1, 3]]), np.ones(3))
    with pytest.raises(ValueError, match="Poisson's ratio 0.5"):
        Elastic(1.0, 0.5, 1.0)
