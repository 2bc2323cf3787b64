# SPDX-License-Identifier: GPL-3.0-or-later
"""The side of a sheet between its corners, against a circle."""

import numpy as np
from numpy.testing import assert_allclose

from addon.core.mesh.open_surface import Surface
from addon.core.trim.boundary_corners import boundary_corners


def test_a_side_through_few_points_of_a_circle_is_one() -> None:
    """24 points, 15 degrees apart and no corner: the chord's sagitta is 0.0086 radii, the side is within 0.0001 of them, and the way
    inward turns evenly, within 0.4 degrees of the radius, where a polygon's would jump by 15."""
    angle = np.radians(15.0) * np.arange(24)
    points = np.vstack([10.0 * np.column_stack([np.cos(angle), np.sin(angle), np.zeros(24)]), np.zeros(3)])
    normals = np.tile([0.0, 0.0, 1.0], (25, 1))
    sheet = Surface(points, normals, np.array([[i, (i + 1) % 24, 24] for i in range(24)]))
    (side,), corners = boundary_corners(sheet, 0.0)
    assert not corners and side.closed
    assert_allclose(np.linalg.norm(side.points, axis=1), 10.0, atol=1e-3)
    turns = np.linspace(0.0, 2.0 * np.pi, 997)
    out = np.column_stack([np.cos(turns), np.sin(turns), np.zeros(997)])
    distance, way = side.distance(8.0 * out, np.tile([0.0, 0.0, 1.0], (997, 1)))
    assert_allclose(distance, 2.0, atol=5e-3)
    assert np.degrees(np.arccos(np.clip(-(way * out).sum(axis=1), -1.0, 1.0))).max() < 0.4
