# SPDX-License-Identifier: GPL-3.0-or-later
"""How much of the tire a fender hides from a side that is square to the axle."""

from __future__ import annotations

import numpy as np
from manifold3d import CrossSection, Error, Manifold, Mesh64, OpType

from ..base.arrays import Array
from ..mesh.triangle_mesh import TriangleMesh

ABOVE = np.array([0.0, 0.0, 1.0])
FRONT = np.array([0.0, -1.0, 0.0])
BEHIND = np.array([0.0, 1.0, 0.0])
"""Ways toward the eye."""


def covered_share(fender: TriangleMesh, profile: Array, eye: Array) -> float:
    """Share of the tire's outline, 0 to 1, that the fender hides from far away.

    fender : closed, wheel axes, mm; profile : (m, 2) float, (x, rho) of the tire from the crown outward, convex
    eye : (3,) float, unit, toward the eye, square to the axle
    What lies on the far side of the axle cannot hide any of the tire: seen square to the axle, the tire reaches as far behind the
    axle as before it. Raises ValueError if the fender is not a closed body or eye is not square to the axle.
    """
    if abs(eye[0]) > 1e-9 or abs(np.linalg.norm(eye) - 1.0) > 1e-9:
        raise ValueError(f"eye: {eye}, expected a unit direction square to the axle")
    body = Manifold(Mesh64(np.array(fender.vertices), np.array(fender.triangles, dtype=np.uint64)))
    if body.status() != Error.NoError or body.is_empty():
        raise ValueError("fender: not a closed body")
    up = np.array([0.0, eye[2], -eye[1]])
    seen = body.trim_by_plane(tuple(eye), 0.0).transform(np.column_stack([np.stack([[1.0, 0.0, 0.0], up, eye]), np.zeros(3)]))
    tire = _outline(profile)
    return float((seen.project() ^ tire).area() / tire.area())


def _outline(profile: Array) -> CrossSection:
    """The tire seen square to its axle: as wide as its profile at each height."""
    right = np.vstack([profile, profile[::-1] * [1.0, -1.0]])
    ring = np.vstack([right, right[::-1] * [-1.0, 1.0]])
    return CrossSection.batch_boolean([CrossSection.hull_points(ring)], OpType.Add)
