# SPDX-License-Identifier: GPL-3.0-or-later
"""The search for a position on the bed."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from addon.core.printing.print_fit import print_fit
from addon.core.wall.closed_wall import closed_wall
from tests.core.torus_surface import torus_surface


def block(x: float, y: float, z: float) -> np.ndarray:
    return np.array([[i, j, k] for i in (0.0, x) for j in (0.0, y) for k in (0.0, z)])


@pytest.mark.parametrize("seed", range(6))
def test_block_in_any_position_finds_its_own_box(seed: int) -> None:
    """A block of 199 x 119 x 29 in a room of 200 x 120 x 30, turned at random: fits only within half a degree of square."""
    points = block(199.0, 119.0, 29.0) @ Rotation.random(random_state=seed).as_matrix().T
    fit = print_fit(points, (200.0, 120.0, 30.0), 0.0)
    assert fit.fits and fit.fill <= 1.0
    assert_allclose(np.ptp(points @ fit.rotation.T, axis=0), fit.size, atol=1e-9)


def test_rod_longer_than_every_side_goes_across_the_bed() -> None:
    """290 mm on 220 x 220: the diagonal is 311 mm, less the rod's own width."""
    assert print_fit(block(290.0, 20.0, 10.0), (220.0, 220.0, 250.0), 0.0).fits
    assert not print_fit(block(290.0, 60.0, 10.0), (220.0, 220.0, 30.0), 0.0).fits
    # through the space diagonal: sqrt(220^2 + 220^2 + 250^2) = 399 mm
    assert print_fit(block(370.0, 10.0, 10.0), (220.0, 220.0, 250.0), 0.0).fits
    assert not print_fit(block(400.0, 1.0, 1.0), (220.0, 220.0, 250.0), 0.0).fits


def test_margin_is_kept() -> None:
    points = block(100.0, 80.0, 60.0)
    assert print_fit(points, (110.0, 90.0, 65.0), 5.0).fits
    assert not print_fit(points, (110.0, 90.0, 65.0), 6.0).fits
    with pytest.raises(ValueError, match="leaves no room"):
        print_fit(points, (110.0, 90.0, 65.0), 45.0)


def test_lies_low_where_it_fits() -> None:
    fit = print_fit(block(100.0, 80.0, 20.0) @ Rotation.random(random_state=3).as_matrix().T, (200.0, 200.0, 200.0), 0.0)
    assert fit.fits
    assert_allclose(fit.size[2], 20.0, atol=0.1)


def test_no_worse_than_ten_thousand_random_positions_of_a_fender() -> None:
    """Random rotations by scipy, on every vertex of half a fender."""
    points = closed_wall(torus_surface(front=0.0), 0.0, 3.0).mesh.vertices
    bed = (220.0, 220.0, 250.0)
    fit = print_fit(points, bed, 5.0)
    assert_allclose(fit.rotation @ fit.rotation.T, np.eye(3), atol=1e-12)
    assert_allclose(np.linalg.det(fit.rotation), 1.0, atol=1e-12)
    assert_allclose(np.ptp(points @ fit.rotation.T, axis=0), fit.size, atol=1e-9)
    room = np.array([210.0, 210.0, 245.0])
    turned = Rotation.random(10000, random_state=1).as_matrix()
    thin = points[np.random.default_rng(0).choice(len(points), 400, replace=False)]
    best = (np.ptp(np.einsum("rij,nj->rni", turned, thin), axis=1) / room).max(axis=1).min()
    assert fit.fill <= best + 0.02


def test_same_answer_every_time() -> None:
    points = closed_wall(torus_surface(front=0.0), 0.0, 3.0).mesh.vertices
    one, two = (print_fit(points, (220.0, 220.0, 250.0), 5.0) for _ in range(2))
    assert (one.rotation == two.rotation).all()
