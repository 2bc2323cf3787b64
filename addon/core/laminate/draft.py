# SPDX-License-Identifier: GPL-3.0-or-later
"""Draft of a surface against a pull direction, and the part of it that is undercut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, Index, as_points, frozen
from ..base.row_vectors import dot_rows


@dataclass(frozen=True, eq=False)
class Draft:
    """Draft of the facets of a surface.

    pull : (3,) float, unit, the way that the mold leaves the surface, against which it stands
    angles : (m,) float, deg, of each facet: 90 where it faces the pull, 0 where it is along it, negative where it is undercut
    least : deg, the least of them; place : (3,) float, middle of that facet
    undercut : mm2, area with a negative angle; undercut_place : (3,) float, middle of that area, None if there is none
    """

    pull: Array
    angles: Array
    least: float
    place: Array
    undercut: float
    undercut_place: Array | None


def draft(points: ArrayLike, triangles: Index, pull: ArrayLike) -> Draft:
    """Draft of all facets: the arc sine of the cosine between the facet's normal and the pull.

    points : (n, 3) float, mm; triangles : (m, 3) int, m >= 1, counterclockwise as seen from the mold; pull : (3,) of any length
    A facet without an area counts as one that faces the pull. Any surface that hides another one from the pull has such facets
    between them, so that none are missed.
    Raises ValueError for a pull without a length or a surface without a facet.
    """
    points, way = as_points(points), np.asarray(pull, dtype=np.float64)
    length = float(np.linalg.norm(way))
    if not length > 0.0 or len(triangles) == 0:
        raise ValueError("draft: expected a pull with a length and a surface with a facet")
    way = way / length
    a, b, c = np.moveaxis(points[triangles], 1, 0)
    across = np.cross(b - a, c - a)
    doubled = np.sqrt(dot_rows(across, across))
    cosine = np.divide(across @ way, doubled, out=np.ones(len(doubled)), where=doubled > 0.0)
    worst = int(np.argmin(cosine))
    under = np.where(cosine < -_ROUNDING, 0.5 * doubled, 0.0)
    area = float(under.sum())
    middles = (a + b + c) / 3.0
    return Draft(
        pull=frozen(way),
        angles=frozen(np.degrees(np.arcsin(np.clip(cosine, -1.0, 1.0)))),
        least=float(np.degrees(np.arcsin(np.clip(cosine[worst], -1.0, 1.0)))),
        place=frozen(middles[worst]),
        undercut=area,
        undercut_place=frozen(under @ middles / area) if area > 0.0 else None,
    )


_ROUNDING = 1e-9


def facet_normals(points: Array, triangles: Index) -> tuple[Array, Array]:
    """Unit normals (k, 3) and areas (k,), mm2, of the facets that have an area."""
    a, b, c = np.moveaxis(points[triangles], 1, 0)
    across = np.cross(b - a, c - a)
    doubled = np.sqrt(dot_rows(across, across))
    real = doubled > 0.0
    return across[real] / doubled[real, None], 0.5 * doubled[real]
