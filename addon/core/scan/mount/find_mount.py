# SPDX-License-Identifier: GPL-3.0-or-later
"""The mount face in a scan in which nobody marked it: a flat face with bolt holes that looks at the tire from outside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array, Mask
from ...base.row_vectors import dot_rows
from ...fits.fit_plane import PlaneFit, fit_plane
from ..data.marked_points import REGION_POINTS
from ..data.scan_data import random_rows
from ..data.surface_samples import SurfaceSamples, surface_samples
from ..holes.hole_circles import HoleCircle, rough_holes
from ..wheel.axis import Axis

REACH_MM = 250.0
"""How far outside of the crown a mount face is looked for."""
HALF_REACH = 0.7
"""Of the section width: how far to both sides of the center plane."""
LOOKED_AT, HOLE_POINTS = 150_000, 40_000
"""Points that are looked at for flat faces, and of one face for holes."""
LEAN_SIDE_DEG, LEAN_ALONG_DEG = 20.0, 50.0
"""A mount face leans no further than this to a side, and its normal no further from the ray through the axle."""
SEEDS, ROUNDS = 300, 8
BAND_MM, BAND_DEG, SIZE_MM = 0.8, 10.0, 90.0
"""Samples this close to a trial plane, with normals this near its own, within this distance of its seed, are one face."""
LEAST_SAMPLES = 30
LEAST_HOLES = 2
"""A fender hangs from two bolts at least."""
SMALLEST_BOLT_HOLE, LARGEST_BOLT_HOLE = 3.0, 14.0
"""Clearance holes of M4 to M12 in ISO 273, which a first look shows too small."""
OFF_CENTER = 0.15
"""Of the section width: how far the middle of the holes may lie beside the center plane."""


@dataclass(frozen=True, eq=False)
class _Face:
    """plane, the samples on it, (n, 3), how many bolt holes it shows and how far it is from the axle."""

    plane: PlaneFit
    samples: Array
    holes: int
    distance: float


def find_mount(points: Array, axis: Axis, crown_radius: float, section_width: float, rng: np.random.Generator) -> Array | None:
    """Points (m, 3) of the mount face, at most REGION_POINTS; None if no face outside of the tire shows bolt holes.

    points : (n, 3) float, mm, all over the scan; axis : the axle, its point in the tire's center plane
    Of several faces the one with most holes is taken, of equals the one nearest the axle, which of a plate is the side toward
    the tire. Planes by random draws of samples with normals, Fischler and Bolles, Comm. ACM 24 (1981) 381.
    """
    rho, along = axis.meridian(points)
    near = (rho > 1.005 * crown_radius) & (rho < crown_radius + REACH_MM) & (np.abs(along) < HALF_REACH * section_width)
    outside = points[near]
    own = random_rows(outside, LOOKED_AT, rng)
    if len(own) < 10 * LEAST_SAMPLES:
        return None
    samples = surface_samples(own)
    left = _looks_at_axle(samples, axis)
    faces: list[_Face] = []
    for _ in range(ROUNDS):
        inside = _plane_samples(samples, left, rng)
        if inside is None:
            break
        left &= ~inside
        face = _face(own, samples, inside, axis, section_width, rng)
        if face is not None:
            faces.append(face)
    if not faces:
        return None
    best = max(faces, key=lambda face: (face.holes, -face.distance))
    return random_rows(_on_face(outside, best.plane, best.samples, samples.cell), REGION_POINTS, rng)


def _looks_at_axle(samples: SurfaceSamples, axis: Axis) -> Mask:
    away = samples.points - axis.point
    radial = away - (away @ axis.direction)[:, None] * axis.direction
    radial /= np.maximum(np.linalg.norm(radial, axis=1, keepdims=True), 1e-9)
    level = np.abs(samples.normals @ axis.direction) < np.sin(np.radians(LEAN_SIDE_DEG))
    facing = np.abs(dot_rows(samples.normals, radial)) > np.cos(np.radians(LEAN_ALONG_DEG))
    return np.asarray(level & facing)


def _plane_samples(samples: SurfaceSamples, left: Mask, rng: np.random.Generator) -> Mask | None:
    """(n,) True for the samples, of those left, on the flat face with most of them; None if there is none of some size."""
    rows = np.flatnonzero(left)
    if len(rows) < LEAST_SAMPLES:
        return None
    points, normals = samples.points[rows], samples.normals[rows]
    best = np.zeros(len(rows), bool)
    for seed in rng.integers(0, len(rows), SEEDS):
        inside = _on_plane(points, normals, points[seed], normals[seed])
        if np.count_nonzero(inside) > np.count_nonzero(best):
            best = inside
    for _ in range(3):
        if np.count_nonzero(best) < LEAST_SAMPLES:
            return None
        plane = fit_plane(points[best])
        best = _on_plane(points, normals, plane.point, plane.normal)
    chosen = np.zeros(len(left), bool)
    chosen[rows[best]] = True
    return chosen if np.count_nonzero(best) >= LEAST_SAMPLES else None


def _on_plane(points: Array, normals: Array, origin: Array, normal: Array) -> Mask:
    away = points - origin
    flat = np.abs(away @ normal) < BAND_MM
    flat &= np.abs(normals @ normal) > np.cos(np.radians(BAND_DEG))
    return np.asarray(flat & (dot_rows(away, away) < SIZE_MM**2))


def _face(
    points: Array, samples: SurfaceSamples, inside: Mask, axis: Axis, section_width: float, rng: np.random.Generator
) -> _Face | None:
    """The face that samples lie on, if it shows bolt holes about the center plane."""
    own = samples.points[inside]
    plane = fit_plane(own)
    near = random_rows(_on_face(points, plane, own, samples.cell), HOLE_POINTS, rng)
    holes = rough_holes((near - plane.point) @ plane.tangents.T, SMALLEST_BOLT_HOLE, LARGEST_BOLT_HOLE)
    if len(holes) < LEAST_HOLES or abs(_middle(plane, holes, axis)) > OFF_CENTER * section_width:
        return None
    return _Face(plane, own, len(holes), axis.distance_to(plane.point))


def _on_face(points: Array, plane: PlaneFit, samples: Array, cell: float) -> Array:
    """The points (m, 3) near a plane and beside its samples."""
    near = points[np.abs((points - plane.point) @ plane.normal) < BAND_MM]
    own, flat = ((some - plane.point) @ plane.tangents.T for some in (samples, near))
    return np.asarray(near[_beside(own, flat, 2.0 * cell)])


def _middle(plane: PlaneFit, holes: list[HoleCircle], axis: Axis) -> float:
    centers = plane.point + np.array([hole.center for hole in holes]) @ plane.tangents
    return float((centers.mean(axis=0) - axis.point) @ axis.direction)


def _beside(samples: Array, flat: Array, cell: float) -> Mask:
    """(n,) True for points in a cell that holds a sample, or in one that touches such a cell."""
    origin = samples.min(axis=0) - 2.0 * cell
    index = np.floor((samples - origin) / cell).astype(np.int64)
    filled = np.zeros(index.max(axis=0) + 3, bool)
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            filled[index[:, 0] + i, index[:, 1] + j] = True
    place = np.floor((flat - origin) / cell).astype(np.int64)
    within = ((place >= 0) & (place < filled.shape)).all(axis=1)
    place = np.where(within[:, None], place, 0)
    return np.asarray(within & filled[place[:, 0], place[:, 1]])
