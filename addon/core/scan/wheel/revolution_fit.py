# SPDX-License-Identifier: GPL-3.0-or-later
"""Axis and section of a tire together, by robust nonlinear least squares on points."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...base.arrays import Array
from ...base.errors import JobError
from ...fits.directions import across, unit
from ...fits.robust import TUKEY_CUT, biweight, biweight_slope, scale_of
from ..data.scan_data import random_rows
from .axis import Axis
from .meridian_spline import MeridianSpline
from .tire_region import LOWEST_RADIUS, TireRegion

FIT_POINTS = 40_000
STEPS = 60
FIRST_CUT = 0.02
"""Of the crown's radius: how far points may lie from the first section. Falls to a few standard deviations."""
LEAST_CUT = 2e-5
"""Of the crown's radius; keeps the weights of data without noise from being all or nothing."""
SMOOTHING = 1e-5
"""Weight of the section's bending against one knot's share of the points; only carries the curve over gaps."""
PATCH = 1.0 / 12.0
"""Of the crown's radius: size of the patches within which errors may hang together."""


@dataclass(frozen=True, eq=False)
class RevolutionFit:
    """Axis (its point in the middle of the section) and section, with what is left over.

    residuals : (n,) mm, outward, of the points used; points : (n, 3) those points
    sigma : standard deviation of the points about the surface, mm; cut : where robust weights end, mm
    covariance : (4 + k, 4 + k) of the axis point's shift along across(direction) (mm), the direction's tilts toward them
        (radians), and the section's coefficients (mm)
    """

    axis: Axis
    section: MeridianSpline
    crown_radius: float
    points: Array
    residuals: Array
    sigma: float
    cut: float
    covariance: Array

    def distance(self, points: Array) -> Array:
        """Signed distance (n,) of points from the surface, mm, outward; to first order near the surface."""
        return self.section.distance(*self.axis.meridian(points))[0]


def fit_revolution(
    points: Array,
    region: TireRegion,
    rng: np.random.Generator,
    count: int = FIT_POINTS,
    steps: int = STEPS,
    stiffness: float = SMOOTHING,
) -> RevolutionFit:
    """Least robust squared distances from a surface of revolution whose section is a free spline.

    points : (n, 3) float, mm, of the whole scan; region : where to start; count : at most so many points are used; steps : at
        most so many are taken; stiffness : weight of the section's bending, which is all that tells it where no points lie
    Raises JobError if too few points lie near, or the fit does not settle.
    Biweight with a cut that falls to 4.685 standard deviations. Covariance by the sandwich of an M-estimate (Huber, Robust
    Statistics, 1981, 7.6), with the scores summed over patches, so that neighbors that err together, as on tread or with
    a scanner's drift, do not count as independent.
    """
    chosen = _near(points, region, rng, count)
    axis, section, cut = region.axis, region.section, FIRST_CUT * region.crown_radius
    for step in range(steps):
        residuals, jacobian = _linearized(chosen, axis, section)
        weights = biweight(residuals, cut)
        if np.count_nonzero(weights) < jacobian.shape[1]:
            raise JobError("scan.tire", "too few points lie on one smooth section, scan more of the tire")
        pull = jacobian.T @ (weights * residuals) + _bending(section, weights, stiffness)
        change = -np.linalg.lstsq(_normal(jacobian, weights, stiffness), pull, rcond=1e-13)[0]
        axis, section = _moved(axis, section, change)
        near = residuals[np.abs(residuals) < cut]
        settled = bool(np.abs(change[:4] * [1, 1, region.crown_radius, region.crown_radius]).max() < 1e-7 * region.crown_radius)
        smaller = max(TUKEY_CUT * scale_of(near), 0.7 * cut, LEAST_CUT * region.crown_radius)
        if settled and step > 3 and smaller > 0.9 * cut:
            break
        cut = min(smaller, cut)
    else:
        if np.abs(change[:2]).max() > 0.01 * region.crown_radius:
            raise JobError("scan.tire", "its axis does not settle, scan more of its circumference or mark it")
    return _result(chosen, axis, section, cut, region.crown_radius, stiffness)


def _near(points: Array, region: TireRegion, rng: np.random.Generator, count: int) -> Array:
    some = random_rows(points, 10 * count, rng)
    rho, along = region.axis.meridian(some)
    _, angle = region.section.polar(rho, along)
    near = np.abs(region.section.distance(rho, along)[0]) < 1.5 * FIRST_CUT * region.crown_radius
    near &= (angle > region.section.start) & (angle < region.section.end) & (rho > LOWEST_RADIUS * region.crown_radius)
    chosen = random_rows(some[near], count, rng)
    if len(chosen) < 3 * (len(region.section.coefficients) + 4):
        raise JobError("scan.tire", f"only {len(chosen)} points lie on it, too few to fit its section and axis")
    return chosen


def _linearized(points: Array, axis: Axis, section: MeridianSpline) -> tuple[Array, Array]:
    rho, along = axis.meridian(points)
    residuals, out, up = section.distance(rho, along)
    flat = (points - axis.point) @ across(axis.direction).T
    outward = flat / np.maximum(rho, 1e-9)[:, None]
    _, angle = section.polar(rho, along)
    values, _ = section.basis(angle)
    shift = -out[:, None] * outward
    turn = along[:, None] * shift + up[:, None] * flat
    scale = np.hypot(out, up) * (out * np.cos(angle) + up * np.sin(angle))
    return residuals, np.concatenate([shift, turn, -scale[:, None] * values], axis=1)


def _normal(jacobian: Array, weights: Array, stiffness: float) -> Array:
    size = jacobian.shape[1]
    normal = (jacobian * weights[:, None]).T @ jacobian
    bend = np.zeros((size - 6, size))
    bend[:, 4:] = np.diff(np.eye(size - 4), 2, axis=0)
    normal += _smoothing(weights, size - 4, stiffness) * bend.T @ bend
    return normal


def _smoothing(weights: Array, size: int, stiffness: float) -> float:
    return stiffness * float(weights.sum()) / size


def _bending(section: MeridianSpline, weights: Array, stiffness: float) -> Array:
    bend = np.diff(np.eye(len(section.coefficients)), 2, axis=0)
    pull = _smoothing(weights, len(section.coefficients), stiffness) * bend.T @ (bend @ section.coefficients)
    return np.concatenate([np.zeros(4), pull])


def _moved(axis: Axis, section: MeridianSpline, change: Array) -> tuple[Axis, MeridianSpline]:
    tangents = across(axis.direction)
    turned = Axis(axis.point + change[:2] @ tangents, unit(axis.direction + change[2:4] @ tangents))
    return turned, replace(section, coefficients=section.coefficients + change[4:])


def _result(points: Array, axis: Axis, section: MeridianSpline, cut: float, crown: float, stiffness: float) -> RevolutionFit:
    residuals, jacobian = _linearized(points, axis, section)
    used = np.abs(residuals) < cut
    points, residuals, jacobian = points[used], residuals[used], jacobian[used]
    weights = biweight(residuals, cut)
    bread = np.linalg.pinv(float(biweight_slope(residuals, cut).mean()) * _normal(jacobian, np.ones(len(points)), stiffness))
    scores = jacobian * (weights * residuals)[:, None]
    patches = _patches(points, axis, section, crown)
    order = np.argsort(patches, kind="stable")
    starts = np.flatnonzero(np.concatenate([[True], np.diff(patches[order]) != 0]))
    sums = np.add.reduceat(scores[order], starts, axis=0)
    count = len(starts)
    covariance = bread @ (sums.T @ sums) @ bread * (count / max(count - 4, 1))
    sigma = float(np.sqrt((weights * residuals**2).sum() / weights.sum()))
    return RevolutionFit(axis, section, crown, points, residuals, sigma, cut, covariance)


def _patches(points: Array, axis: Axis, section: MeridianSpline, crown: float) -> Array:
    rho, along = axis.meridian(points)
    radius, angle = section.polar(rho, along)
    band = np.floor(angle * radius.mean() / (PATCH * crown)).astype(np.int64)
    sector = np.floor((axis.angle(points) + np.pi) / PATCH).astype(np.int64)
    return np.asarray((band - band.min()) * 1000 + sector)
