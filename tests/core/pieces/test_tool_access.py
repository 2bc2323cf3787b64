# SPDX-License-Identifier: GPL-3.0-or-later
"""Triangles in a cylinder, against points strewn over them."""

import numpy as np

from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.pieces.tool_access import Cylinder, first_in_way

_SHORT_OF = 0.05
"""Triangles may stand so far into the cylinder, mm."""


def test_a_triangle_in_the_cylinder_is_found_and_no_other() -> None:
    """3,000 random triangles about a slanted cylinder: 1,500 points strewn over each say whether it is inside."""
    rng = np.random.default_rng(5)
    axis = np.array([2.0, -1.0, 2.0]) / 3.0
    across = np.cross(axis, [1.0, 0.0, 0.0])
    across /= np.linalg.norm(across)
    basis = np.stack([across, np.cross(axis, across), axis])
    cylinder = Cylinder(np.array([30.0, -20.0, 300.0]), axis, radius=6.0, length=20.0)
    weights = rng.dirichlet(np.full(3, 0.7), 1500)
    inside = outside = 0
    for corners in rng.uniform([-14.0, -14.0, -12.0], [14.0, 14.0, 32.0], (3000, 3, 3)):
        mesh = TriangleMesh(cylinder.start + corners @ basis, np.array([[0, 1, 2]]))
        (found,) = first_in_way(mesh, [cylinder])
        points = weights @ corners
        depth = np.minimum(6.0 - _SHORT_OF - np.hypot(points[:, 0], points[:, 1]), np.minimum(points[:, 2], 20.0 - points[:, 2]))
        if depth.max() > 0.0:
            assert found is not None
            inside += 1
        if found is not None:
            local = basis @ (found - cylinder.start)
            assert np.hypot(*local[:2]) <= 6.0 and -1e-9 <= local[2] <= 20.0 + 1e-9
            # strewn points lie close to it or hardly miss the cylinder
            assert depth.max() > -1.5
        else:
            outside += 1
    assert inside > 500 and outside > 500
