# SPDX-License-Identifier: GPL-3.0-or-later
"""The mount face: a plane and the holes in it, from the region that the builder marked."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...base.arrays import Array
from ...base.errors import JobError
from ...base.row_vectors import dot_rows
from ...fits.directions import across
from ...fits.fit_plane import PlaneFit, fit_plane
from ...fits.robust import TUKEY_CUT, biweight, scale_of
from ..data.scan_data import random_rows
from ..holes.hole_circles import HoleCircle, hole_at, hole_circles
from ..holes.hole_layers import DEEPEST
from ..holes.hole_pattern import HolePattern, hole_pattern

SMALLEST_HOLE, LARGEST_HOLE = 3.0, 30.0
"""Diameters, mm, of what counts as a bolt hole."""
TRIPLES = 300
FIRST_BAND, LEAST_BAND = 0.01, 0.05
"""Distance of points from a trial plane, as share of the region's size and in mm."""


@dataclass(frozen=True, eq=False)
class MountFace:
    """Scan coordinates in mm. plane : the face; center (3,) : the middle of the holes, or of the face if it has none.

    pattern : the holes in the plane's coordinates (along plane.tangents from plane.point); hole_points : (h, 3) their centers
    second_face_mm : distance of another face parallel to this one with much surface, None if there is none
    """

    plane: PlaneFit
    center: Array
    center_sigma: float
    pattern: HolePattern
    hole_points: Array
    second_face_mm: float | None

    @property
    def holes(self) -> tuple[HoleCircle, ...]:
        return self.pattern.holes


def mount_face(
    points: Array, hole_balls: Array | None, toward: Array, rng: np.random.Generator, around: Array | None = None
) -> MountFace:
    """Plane and holes in the region of the mount.

    points : (n, 3) float, mm, of the region; hole_balls : (b, 4) mm, where holes are, None to look all over the face
    toward : (3,) mm, the wheel's center; of two faces of one plate the one on its side is taken
    around : (m, 3) mm, all points of the scan, of which those of the holes' walls are taken; None to take those of the region
    Raises JobError if the points form no plane, or if a ball holds no round hole.
    """
    plane, second = _face(points, toward, rng)
    near = _about_face(points, plane, points if around is None else around)
    if hole_balls is not None:
        holes = _marked_holes(near, plane, hole_balls)
    else:
        holes = hole_circles(near, SMALLEST_HOLE, LARGEST_HOLE, plane.rms_mm)
    pattern = hole_pattern(holes)
    centers = np.array([hole.center for hole in pattern.holes]).reshape(-1, 2)
    middle = centers.mean(axis=0) if len(holes) else np.zeros(2)
    sigma = float(np.sqrt(sum(hole.center_sigma**2 for hole in holes))) / len(holes) if holes else 0.0
    hole_points = plane.point + centers @ plane.tangents
    return MountFace(plane, plane.point + middle @ plane.tangents, sigma, pattern, hole_points, second)


def _about_face(points: Array, plane: PlaneFit, around: Array) -> Array:
    """Points (n, 3) in the plane's coordinates, the last out of it, no deeper than holes are looked at and beside the region."""
    frame = np.vstack([plane.tangents, plane.normal])
    own = (points - plane.point) @ frame.T
    low, high = own[:, :2].min(axis=0), own[:, :2].max(axis=0)
    found = (around - plane.point) @ frame.T
    inside = (np.abs(found[:, 2]) < DEEPEST) & (found[:, :2] > low).all(axis=1) & (found[:, :2] < high).all(axis=1)
    return np.asarray(found[inside])


def _face(points: Array, toward: Array, rng: np.random.Generator) -> tuple[PlaneFit, float | None]:
    """The plane with most points near it, and the distance to a parallel one with more than half as many."""
    size = float(np.linalg.norm(np.ptp(points, axis=0)))
    band = max(FIRST_BAND * size, LEAST_BAND)
    triples = points[rng.integers(0, len(points), (TRIPLES, 3))]
    normals = np.cross(triples[:, 1] - triples[:, 0], triples[:, 2] - triples[:, 0])
    length = np.linalg.norm(normals, axis=1)
    good = length > 1e-3 * size**2
    if not good.any():
        raise JobError("hints.mount", "its points lie on a line, mark more of the face")
    normals, origins = normals[good] / length[good, None], triples[good, 0]
    some = random_rows(points, 3000, rng)
    heights = some @ normals.T - dot_rows(normals, origins)
    best = int(np.argmax((np.abs(heights) < band).sum(axis=0)))
    plane = _settled(points, normals[best], float(normals[best] @ origins[best]), band)
    normal = plane.normal * (1.0 if (toward - plane.point) @ plane.normal < 0.0 else -1.0)
    levels = (points - plane.point) @ normal
    own = int(np.count_nonzero(np.abs(levels) < band))
    other = _other_level(levels, band, own)
    if other is not None and other < 0.0:  # the marked plate shows both faces: the one toward the wheel is the mount face
        plane = _settled(points, normal, float(normal @ plane.point) + other, band)
    return _facing(plane, normal), None if other is None else abs(other)


def _other_level(levels: Array, band: float, own: int) -> float | None:
    counts, edges = np.histogram(levels[np.abs(levels) > 2.0 * band], bins=np.arange(-40.0, 40.0 + band, band))
    if len(counts) == 0 or counts.max() < 0.5 * own:
        return None
    place = int(np.argmax(counts))
    return float(0.5 * (edges[place] + edges[place + 1]))


def _settled(points: Array, normal: Array, offset: float, band: float) -> PlaneFit:
    """Robust least squares from a trial plane; the cut falls to 4.685 standard deviations."""
    distances = points @ normal - offset
    for _ in range(20):
        weights = biweight(distances, band)
        if np.count_nonzero(weights) < 10:
            raise JobError("hints.mount", "its points form no plane, mark the flat face only")
        plane = fit_plane(points, weights)
        distances = (points - plane.point) @ plane.normal
        before, band = (
            band,
            min(band, max(TUKEY_CUT * scale_of(distances[np.abs(distances) < band]), 0.5 * band, 0.2 * LEAST_BAND)),
        )
        if band > 0.99 * before:
            break
    return fit_plane(points[weights > 0.0], weights[weights > 0.0])


def _facing(plane: PlaneFit, normal: Array) -> PlaneFit:
    """The same plane with its normal on the side of `normal`; tangents and covariance belong together and turn with it."""
    if plane.normal @ normal > 0.0:
        return plane
    tangents = across(-plane.normal)
    basis = -np.eye(3)  # offset and tilts change sign with the normal, and the tilts are told in other tangents
    basis[1:, 1:] = -tangents @ plane.tangents.T
    covariance = basis @ plane.covariance @ basis.T
    return replace(plane, normal=-plane.normal, tangents=tangents, distances=-plane.distances, covariance=covariance)


def _marked_holes(points: Array, plane: PlaneFit, balls: Array) -> list[HoleCircle]:
    """All holes whose middle lies in a ball, each once."""
    holes: list[HoleCircle] = []
    for number, ball in enumerate(balls, 1):
        center = (ball[:3] - plane.point) @ plane.tangents.T
        near = points[np.hypot(*(points[:, :2] - center).T) < 1.5 * max(ball[3], SMALLEST_HOLE)]
        found = hole_circles(near, SMALLEST_HOLE, LARGEST_HOLE, plane.rms_mm)
        inside = [hole for hole in found if np.hypot(*(hole.center - center)) < ball[3]]
        if not inside:
            alone = hole_at(near, center, 1.5 * max(ball[3], SMALLEST_HOLE), plane.rms_mm)
            if alone is None:
                raise JobError("hints.holes", f"hole {number} is no round hole in the mount face, mark its rim more closely")
            inside = [alone]
        holes.extend(hole for hole in inside if all(np.hypot(*(hole.center - old.center)) > 0.5 * old.diameter for old in holes))
    return holes
