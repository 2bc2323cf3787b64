# SPDX-License-Identifier: GPL-3.0-or-later
"""Stretching in its plane: the optimal membrane triangle with drilling freedoms.

C. A. Felippa, A study of optimal membrane triangles with drilling freedoms, Computer Methods in Applied Mechanics and Engineering
192 (2003) 2125-2168: the template of its section 4 with the parameters called OPT. It bends in its plane as a beam does, at any
aspect ratio. Freedoms of a triangle: u, v, theta of its corners in turn; theta is the rotation about its normal.
"""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array

_ALPHA = 1.5
_BETA = np.array([[1.0, 2.0, 1.0], [0.0, 1.0, -1.0], [-1.0, -1.0, -2.0]])
_LEAST_HIGHER = 0.01
"""Parameters OPT; the last is the least factor of the higher-order stiffness, where Poisson's ratio nears one half."""


def membrane_strain(corners: Array) -> Array:
    """(m, 3, 9) mean strain xx, yy, xy for the freedoms. corners : (m, 3, 2) float, mm"""
    return np.swapaxes(_force_lumping(corners), 1, 2) / _area(corners)[:, None, None]


def membrane_stiffness(corners: Array, thickness: Array, plane_stress: Array, poisson: float) -> Array:
    """(m, 9, 9) stiffness, N and mm. corners : (m, 3, 2) float, mm; thickness : (m,) float, mm; plane_stress : (3, 3), MPa"""
    area = _area(corners)
    strain = membrane_strain(corners)
    volume = (area * thickness)[:, None, None]
    basic = volume * np.swapaxes(strain, 1, 2) @ plane_stress @ strain
    natural = _natural_strain(corners, area)
    rigidity = np.swapaxes(natural, 1, 2) @ plane_stress @ natural
    deviatoric = _deviatoric_rotations(corners, area)
    middles = _mid_side_strain(corners, area)
    higher = sum(np.swapaxes(q, 1, 2) @ rigidity @ q for q in middles)
    factor = 0.75 * max(0.5 * (1.0 - 4.0 * poisson**2), _LEAST_HIGHER)
    return np.asarray(basic + factor * volume * np.swapaxes(deviatoric, 1, 2) @ higher @ deviatoric)


def _edges(corners: Array) -> tuple[Array, Array]:
    """x and y of the edges that are opposite the corners 1, 2, 3: from corner 3 to 2, 1 to 3, 2 to 1; each (m, 3)."""
    opposite = corners[:, [1, 2, 0]] - corners[:, [2, 0, 1]]
    return opposite[..., 0], opposite[..., 1]


def _area(corners: Array) -> Array:
    x, y = _edges(corners)
    return np.asarray(0.5 * (x[:, 0] * y[:, 1] - x[:, 1] * y[:, 0]))


def _force_lumping(corners: Array) -> Array:
    """(m, 9, 3): forces at the freedoms for a constant stress, per thickness."""
    x, y = _edges(corners)  # x23, x31, x12
    lump = np.zeros((len(corners), 9, 3))
    for k in range(3):
        after, before = (k + 1) % 3, (k + 2) % 3
        lump[:, 3 * k, 0] = lump[:, 3 * k + 1, 2] = y[:, k]
        lump[:, 3 * k + 1, 1] = lump[:, 3 * k, 2] = -x[:, k]
        # y13 - y21 = y12 - y31 and so on around
        lump[:, 3 * k + 2, 0] = _ALPHA / 6.0 * y[:, k] * (y[:, before] - y[:, after])
        lump[:, 3 * k + 2, 1] = _ALPHA / 6.0 * -x[:, k] * (x[:, after] - x[:, before])
        lump[:, 3 * k + 2, 2] = _ALPHA / 3.0 * (x[:, before] * y[:, before] - x[:, after] * y[:, after])
    return 0.5 * lump


def _deviatoric_rotations(corners: Array, area: Array) -> Array:
    """(m, 3, 9): rotation of each corner over that of the triangle as a whole."""
    x, y = _edges(corners)
    rows = np.zeros((len(corners), 3, 9))
    quarter = (0.25 / area)[:, None]
    for k in range(3):
        rows[:, :, 3 * k] = -x[:, k, None] * quarter
        rows[:, :, 3 * k + 1] = -y[:, k, None] * quarter
        rows[:, k, 3 * k + 2] = 1.0
    return rows


def _natural_strain(corners: Array, area: Array) -> Array:
    """(m, 3, 3): strain xx, yy, xy for the strains along the edges 1-2, 2-3, 3-1."""
    x, y = _edges(corners)
    length = x**2 + y**2
    strain = np.empty((len(corners), 3, 3))
    for column, edge in enumerate((2, 0, 1)):
        one, two = (edge + 1) % 3, (edge + 2) % 3
        strain[:, 0, column] = -y[:, one] * y[:, two]
        strain[:, 1, column] = -x[:, one] * x[:, two]
        strain[:, 2, column] = x[:, one] * y[:, two] + x[:, two] * y[:, one]
        strain[:, :, column] *= (length[:, edge] / (4.0 * area**2))[:, None]
    return strain


def _mid_side_strain(corners: Array, area: Array) -> tuple[Array, Array, Array]:
    """Strains along the edges at the middles of the three sides, for the deviatoric rotations; each (m, 3, 3)."""
    x, y = _edges(corners)
    length = (x**2 + y**2)[:, [2, 0, 1]]  # of the edges 1-2, 2-3, 3-1
    scale = (2.0 * area / 3.0)[:, None, None] / length[:, :, None]
    first, second, third = _BETA
    at_corners = (
        scale * np.stack([first, second, third]),
        scale * np.stack([third[[2, 0, 1]], first[[2, 0, 1]], second[[2, 0, 1]]]),
        scale * np.stack([second[[1, 2, 0]], third[[1, 2, 0]], first[[1, 2, 0]]]),
    )
    one, two, three = at_corners
    return 0.5 * (one + two), 0.5 * (two + three), 0.5 * (three + one)
