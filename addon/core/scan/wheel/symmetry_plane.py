# SPDX-License-Identifier: GPL-3.0-or-later
"""Plane of symmetry of a whole front end, to check the wheel's center plane by."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array, Index
from ...base.row_vectors import dot_rows
from ...fits.directions import across, unit
from ...fits.robust import biweight
from ..data.surface_samples import SurfaceSamples, grid_of
from .axis import Axis

REACHES = np.array([0.15, 0.1, 0.07, 0.05, 0.03, 0.02, 0.015, 0.015, 0.015])
"""How far a mirror image may lie from the surface, step by step, as share of the crown's radius."""
MIRRORED = 3000
"""Samples that are mirrored; all are there to be met."""
LEAST_SHARE = 0.25
"""Share of the samples that must have a mirror image for a plane to be told."""


@dataclass(frozen=True, eq=False)
class SymmetryPlane:
    """point (3,) and unit normal (3,), mm, scan coordinates; offset : from the wheel's center along the axle, mm, at the
    axle; angle_deg : between the normal and the axle; share : of the samples that have a mirror image; rms : of their
    distances, mm."""

    point: Array
    normal: Array
    offset_mm: float
    angle_deg: float
    share: float
    rms_mm: float


def symmetry_plane(samples: SurfaceSamples, axis: Axis, crown_radius: float) -> SymmetryPlane | None:
    """The plane near the wheel's center plane about which the rest of the scan is most its own mirror image.

    samples : of the scan without the tire; axis : the axle, its point in the center plane
    Mirrored samples are brought onto the nearest surface by robust point-to-plane steps in offset and two tilts, from
    coarse to fine: Besl and McKay 1992, Chen and Medioni 1992, on the mirror image. None where too little has a mirror
    image, as in a scan of one side.
    """
    if len(samples.points) < 100:
        return None
    point, normal = axis.point, axis.direction
    share, rms = 0.0, 0.0
    some = np.arange(0, len(samples.points), max(len(samples.points) // MIRRORED, 1))
    moving, moving_normals = samples.points[some], samples.normals[some]
    for reach in crown_radius * REACHES:
        place, found = _nearest(samples.points, _reflected(moving, point, normal), max(reach, samples.cell))
        if len(found) < 50:
            return None
        tangents = across(normal)
        source, target = moving[found], samples.points[place]
        image = _reflected(source, point, normal)
        mirrored_normals = moving_normals[found] - 2.0 * (moving_normals[found] @ normal)[:, None] * normal
        facing = dot_rows(mirrored_normals, samples.normals[place])
        errors = dot_rows(image - target, samples.normals[place])
        weights = biweight(errors, 0.5 * reach) * (np.abs(facing) > 0.8)
        lever = (source - point) @ tangents.T
        # image = p - 2 ((p - c).m) m; a shift s of c along m moves it by +2 s m, a tilt d of m by about -2 (lever.d) m
        across_plane = samples.normals[place] @ normal
        height = (source - point) @ normal
        jacobian = np.column_stack(
            [
                2.0 * across_plane,
                -2.0 * lever * across_plane[:, None] - 2.0 * height[:, None] * (samples.normals[place] @ tangents.T),
            ]
        )
        moments = (jacobian * weights[:, None]).T @ jacobian
        step = -np.linalg.lstsq(moments, jacobian.T @ (weights * errors), rcond=1e-9)[0]
        point = point + step[0] * normal
        normal = unit(normal + step[1:] @ tangents)
        share = float(np.count_nonzero(weights > 0.0)) / len(moving)
        rms = float(np.sqrt((weights * errors**2).sum() / max(float(weights.sum()), 1e-12)))
    if share < LEAST_SHARE:
        return None
    offset = float((point - axis.point) @ normal / (axis.direction @ normal))
    return SymmetryPlane(point, normal, offset, Axis(point, normal).angle_to_deg(axis), share, rms)


def _reflected(points: Array, point: Array, normal: Array) -> Array:
    return np.asarray(points - 2.0 * ((points - point) @ normal)[:, None] * normal)


def _nearest(points: Array, queries: Array, cell: float) -> tuple[Index, Index]:
    """For each query with a point in the 27 cells about it: the index of a near one, and the query's own index.

    Four points stand for each cell, enough for distances to the planes through them.
    """
    grid, order, starts = grid_of(points, cell)
    counts = np.diff(np.append(starts, len(points)))
    members = [order[starts + counts * k // 4] for k in range(4)]
    keys = grid.keys_of(queries)
    best = np.full(len(queries), np.inf)
    which = np.full(len(queries), -1, dtype=np.int64)
    for step in grid.neighbors():
        place = grid.find(keys + step)
        known = np.flatnonzero(place >= 0)
        for member in members:
            index = member[place[known]]
            distance = np.sum((points[index] - queries[known]) ** 2, axis=1)
            closer = distance < best[known]
            best[known[closer]], which[known[closer]] = distance[closer], index[closer]
    found = np.flatnonzero(which >= 0)
    return which[found], found
