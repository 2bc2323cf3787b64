# SPDX-License-Identifier: GPL-3.0-or-later
"""Bending out of its plane: the discrete Kirchhoff-Mindlin triangle.

I. Katili, A new discrete Kirchhoff-Mindlin element based on Mindlin-Reissner plate theory and assumed shear strain fields, part I,
International Journal for Numerical Methods in Engineering 36 (1993) 1859-1883. A thin one is the discrete Kirchhoff triangle of
J.-L. Batoz, K.-J. Bathe and L.-W. Ho, ibid. 15 (1980) 1771-1812. Freedoms of a triangle: w, theta_x, theta_y of its corners in turn.

The normal's rotation beta (a point at height z moves by z beta; beta_x = theta_y, beta_y = -theta_x) is linear, with a bow along
each side; the bow is what makes the mean shear along the side that of a beam which bends by it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array

SIDE_MIDDLES = np.array([[0.5, 0.5, 0.0], [0.0, 0.5, 0.5], [0.5, 0.0, 0.5]])
"""Area coordinates of the middles of the sides 1-2, 2-3, 3-1: a quadratic is integrated exactly over them."""
SHEAR_SHARE = 5.0 / 6.0
"""Share of the wall that bears shear: a parabola over its thickness (E. Reissner, Journal of Applied Mechanics 12, 1945)."""


def plate_stiffness(corners: Array, corner_thickness: Array, plane_stress: Array) -> Array:
    """(m, 9, 9) stiffness, N and mm. corners : (m, 3, 2) float, mm; corner_thickness : (m, 3) float, mm; plane_stress : (3, 3), MPa"""
    plate = _plate(corners, corner_thickness, plane_stress)
    stiffness = np.zeros((len(corners), 9, 9))
    for place in SIDE_MIDDLES:
        bend, shear, thickness = _curvature(plate, place), _shear(plate, place), corner_thickness @ place
        bending = (thickness**3 / 12.0 * plate.area / 3.0)[:, None, None]
        sliding = (SHEAR_SHARE * plane_stress[2, 2] * thickness * plate.area / 3.0)[:, None, None]
        stiffness += bending * np.swapaxes(bend, 1, 2) @ plane_stress @ bend + sliding * np.swapaxes(shear, 1, 2) @ shear
    return stiffness


def plate_curvature(corners: Array, corner_thickness: Array, plane_stress: Array, place: Array) -> Array:
    """(m, 3, 9) curvature xx, yy, xy, 1/mm: strain at height z over the middle is z times this. place : (3,) area coordinates"""
    return _curvature(_plate(corners, corner_thickness, plane_stress), place)


@dataclass(frozen=True, eq=False)
class _Plate:
    """gradients : (m, 3, 2) of the area coordinates; area : (m,); ways : (m, 3, 2), unit, along the sides 1-2, 2-3, 3-1

    bows : (m, 3, 9), height of beta's bow along each side for the freedoms; slides : (m, 3, 9), shear along each side
    """

    gradients: Array
    area: Array
    ways: Array
    bows: Array
    slides: Array


def _plate(corners: Array, corner_thickness: Array, plane_stress: Array) -> _Plate:
    sides = corners[:, [1, 2, 0]] - corners
    length = np.linalg.norm(sides, axis=2)
    ways = sides / length[:, :, None]
    doubled = sides[:, 0, 0] * -sides[:, 2, 1] + sides[:, 0, 1] * sides[:, 2, 0]
    opposite = sides[:, [1, 2, 0]]
    gradients = np.stack([-opposite[..., 1], opposite[..., 0]], axis=2) / doubled[:, None, None]
    # 12 D / (k G t L^2), with D / G t = (t^2 / 12) of these moduli
    yields = plane_stress[0, 0] / (SHEAR_SHARE * plane_stress[2, 2]) * ((corner_thickness @ SIDE_MIDDLES.T) / length) ** 2
    bows = np.zeros((len(corners), 3, 9))
    for k in range(3):
        i, j = k, (k + 1) % 3
        bows[:, k, 3 * i], bows[:, k, 3 * j] = 1.0, -1.0
        for end in (i, j):
            bows[:, k, 3 * end + 1] = 0.5 * sides[:, k, 1]
            bows[:, k, 3 * end + 2] = -0.5 * sides[:, k, 0]
    bows *= (1.5 / (length * (1.0 + yields)))[:, :, None]
    return _Plate(gradients, 0.5 * doubled, ways, bows, -(2.0 / 3.0) * yields[:, :, None] * bows)


def _curvature(plate: _Plate, place: Array) -> Array:
    """(m, 3, 9) curvature at area coordinates (3,)."""
    slope = np.zeros((len(plate.area), 2, 2, 9))  # of beta_c toward d
    for k in range(3):
        after = (k + 1) % 3
        slope[:, 0, :, 3 * k + 2] += plate.gradients[:, k]
        slope[:, 1, :, 3 * k + 1] -= plate.gradients[:, k]
        rise = 4.0 * (place[k] * plate.gradients[:, after] + place[after] * plate.gradients[:, k])
        slope += np.einsum("mc,md,mf->mcdf", plate.ways[:, k], rise, plate.bows[:, k])
    return np.stack([slope[:, 0, 0], slope[:, 1, 1], slope[:, 0, 1] + slope[:, 1, 0]], axis=1)


def _shear(plate: _Plate, place: Array) -> Array:
    """(m, 2, 9) shear strain of the wall at area coordinates (3,): linear between the corners, where it fits both sides."""
    shear = np.zeros((len(plate.area), 2, 9))
    for k in range(3):
        pair = [k, (k + 2) % 3]
        shear += place[k] * np.linalg.solve(plate.ways[:, pair], plate.slides[:, pair])
    return shear
