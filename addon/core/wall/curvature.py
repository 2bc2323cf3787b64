# SPDX-License-Identifier: GPL-3.0-or-later
"""Principal curvatures of a surface, triangle by triangle."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.errors import ShapeError
from ..base.format_place import format_place
from ..base.row_vectors import dot_rows
from ..base.tolerances import TOLERANCES
from ..mesh.open_surface import Surface

LEAST_SHRINK = 0.02
"""An offset face may not shrink below this share of its length: at 0 it folds over."""


def principal_curvatures(surface: Surface) -> tuple[Array, Array]:
    """Least and greatest curvature of each triangle, (m,) float, 1/mm, positive where the surface bulges along its normal.

    Raises ShapeError where a triangle has no area or a point no normal.
    Weingarten map from the differences of the normals over each triangle: S = D E^-1 in the plane of the triangle, with
    the edges E and the differences D of the normals as columns; its symmetric part has the curvatures as eigenvalues.
    """
    a, b, c = np.moveaxis(surface.points[surface.triangles], 1, 0)
    na, nb, nc = np.moveaxis(surface.normals[surface.triangles], 1, 0)
    e1, e2 = b - a, c - a
    _refuse_flat(surface, np.linalg.norm(np.cross(e1, e2), axis=1))
    length = np.linalg.norm(e1, axis=1)
    x = e1 / length[:, None]
    lean = dot_rows(e2, x)
    across = e2 - lean[:, None] * x
    height = np.linalg.norm(across, axis=1)
    basis = np.stack([x, across / height[:, None]], axis=1)
    # in this frame E is [[length, lean], [0, height]]
    along_x = np.einsum("tij,tj->ti", basis, nb - na) / length[:, None]
    along_y = (np.einsum("tij,tj->ti", basis, nc - na) - lean[:, None] * along_x) / height[:, None]
    mean = 0.5 * (along_x[:, 0] + along_y[:, 1])
    spread = np.hypot(0.5 * (along_x[:, 0] - along_y[:, 1]), 0.5 * (along_y[:, 0] + along_x[:, 1]))
    return mean - spread, mean + spread


def _refuse_flat(surface: Surface, doubled_area: Array) -> None:
    without_normal = np.linalg.norm(surface.normals, axis=1) < 0.5
    flat = (doubled_area < TOLERANCES.weld**2) | without_normal[surface.triangles].any(axis=1)
    if flat.any():
        place = surface.points[surface.triangles[np.argmax(flat)]].mean(axis=0)
        raise ShapeError(
            f"a face of the skin has collapsed to a line or a point {format_place(place)}; pull it open or dissolve it", place
        )


def check_offset(surface: Surface, outward: Array | float, inward: Array | float) -> None:
    """Raise ShapeError, with the place and the radius, where a wall would fold over.

    outward, inward : (n,) float or one, mm, how far it reaches along the normals of the surface's points and against them
    """
    least, greatest = principal_curvatures(surface)
    out, within = (np.broadcast_to(way, len(surface.points))[surface.triangles].max(axis=1) for way in (outward, inward))
    shrink = np.minimum(1.0 + out * least, 1.0 - within * greatest)
    worst = int(np.argmin(shrink))
    if shrink[worst] >= LEAST_SHRINK:
        return
    hollow = 1.0 + out[worst] * least[worst] < 1.0 - within[worst] * greatest[worst]
    radius = -1.0 / least[worst] if hollow else 1.0 / greatest[worst]
    place = surface.points[surface.triangles[worst]].mean(axis=0)
    reach, side = (out[worst], "outward") if hollow else (within[worst], "inward")
    raise ShapeError(
        f"the wall reaches {reach:.2f} mm {side}, but the surface bends to a radius of {radius:.2f} mm {format_place(place)}; "
        "shape it rounder there or make the wall thinner",
        place,
    )
