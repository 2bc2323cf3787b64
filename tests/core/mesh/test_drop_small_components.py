# SPDX-License-Identifier: GPL-3.0-or-later
"""Bodies that are kept and that are not, by their volumes."""

import numpy as np
from numpy.testing import assert_allclose

from addon.core.mesh.drop_small_components import drop_small_components
from addon.core.mesh.prism import box
from addon.core.mesh.triangle_mesh import TriangleMesh, joined


def cube(at: float, side: float) -> TriangleMesh:
    return box(np.array([at, 300.0, 400.0]), np.eye(3), np.zeros(3), np.full(3, side))


def test_only_what_is_smaller_than_a_dot_goes() -> None:
    places = np.array([[50.0, 300, 400], [50, 301, 400], [50, 300, 401], [50.0001, 301, 401]])
    needle = TriangleMesh(places, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]))
    inside_out = TriangleMesh(needle.vertices, needle.triangles[:, ::-1])
    for speck in (needle, inside_out, cube(80.0, 0.09)):
        made = drop_small_components(joined([speck, cube(0.0, 10.0), cube(20.0, 0.2)]))
        assert made.part_count == 2 and made.is_closed and len(made.vertices) == 16
        assert_allclose(made.volume, 1000.008, rtol=1e-9)


def test_one_body_stays_whatever_its_size() -> None:
    for side in (0.05, 5.0):
        alone = cube(0.0, side)
        assert drop_small_components(alone) is alone
    assert drop_small_components(joined([cube(0.0, 0.05), cube(1.0, 0.01)])).part_count == 1
