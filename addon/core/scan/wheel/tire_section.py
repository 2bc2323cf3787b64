# SPDX-License-Identifier: GPL-3.0-or-later
"""The measured section of a tire: profile, width, crown radius, run-out and asymmetry."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ...base.arrays import Array, Mask
from ...base.errors import JobError
from ...fits.robust import biweight
from .center_plane import CenterPlane
from .meridian_spline import MeridianSpline
from .revolution_fit import RevolutionFit

BIN = np.radians(2.5)
SECTOR_DEG = 10.0
FEW_POINTS = 5
"""A bin or sector with fewer points says nothing."""
WIDEST_GAP = 10
"""Bins of 2.5 degrees: a groove between two knobs is no wider than a fifth of a section's half turn."""
NO_CROWN = "the scan shows two sides that turn about an axis but no crown between them; scan the crown too, or mark the tire"


@dataclass(frozen=True, eq=False)
class TireSection:
    """All in mm. crown_radius is the tire's outer radius, axle to crown (not the crown's own curvature).

    profile : (m, 2) of offset from the center plane and drop below the crown, from the crown to the widest point
    run_out_radial, run_out_lateral : largest less least reading over the covered circumference
    asymmetry : root mean square of half the left-right difference of the profile
    """

    profile: Array
    crown_radius: float
    crown_radius_sigma: float
    section_width: float
    section_width_sigma: float
    run_out_radial: float
    run_out_lateral: float
    asymmetry: float
    coverage_deg: float
    residual_rms: float

    @property
    def crown_seen(self) -> bool:
        """False if no points lie on the crown, as under a fender, or on two sides of something that is no tire."""
        return bool(np.isfinite(self.run_out_radial))


def tire_section(points: Array, fit: RevolutionFit, center: CenterPlane, bridged: bool = False) -> TireSection:
    """Robust bins of all points along the section, left and right brought together.

    points : (n, 3) float, mm, of the whole scan; bridged : True to carry the section over gaps, where points are those of a
        tread's tops and grooves run round between them
    Each bin is the fitted curve plus the weighted mean distance of its points from it.
    """
    errors, angle, turn = _close_points(points, fit, center)
    weights = biweight(errors, fit.cut)
    bins = np.floor(angle / BIN + 0.5).astype(np.int64)
    right, left = _side_bins(bins, weights, errors, 1), _side_bins(bins, weights, errors, -1)
    if bridged:
        right, left = _bridged(right, left)
    x, r, gap = _outline(fit, center, right, left)
    widest = int(np.argmax(x)) + 1
    crown = float(r[:widest].max())
    lateral = errors * np.sign(angle)
    ripple = float(np.sqrt(np.nanmean(np.concatenate([right, left]) ** 2)))  # what the bins say beyond the smooth curve
    width_angles = np.array([1.0, -1.0]) * BIN * (widest - 1)
    return TireSection(
        profile=_as_sheet(x[:widest], crown - r[:widest]),
        crown_radius=crown,
        crown_radius_sigma=float(np.hypot(crown_sigma(fit, center), ripple)),
        section_width=2.0 * float(x[widest - 1]),
        section_width_sigma=float(np.hypot(_width_sigma(fit, center, width_angles), 2.0 * ripple)),
        run_out_radial=_spread(turn, errors, np.abs(angle) < np.radians(20.0)),
        run_out_lateral=_spread(turn, lateral, np.abs(np.abs(angle) - np.radians(70.0)) < np.radians(25.0)),
        asymmetry=float(np.sqrt(np.nanmean(gap**2))) if np.isfinite(gap).any() else float("nan"),
        coverage_deg=_coverage(turn),
        residual_rms=float(np.sqrt((weights * errors**2).sum() / weights.sum())),
    )


def _as_sheet(offsets: Array, drops: Array) -> Array:
    """Rows (offset, drop) as the job sheet wants them: from (0, 0), offsets that grow, drops that never shrink."""
    further = np.concatenate([[True], offsets[1:] > np.maximum.accumulate(offsets)[:-1] + 1e-6])
    rows = np.column_stack([offsets, np.maximum.accumulate(drops)])[further]
    rows[0, 1] = 0.0 if rows[0, 0] == 0.0 else rows[0, 1]
    return np.asarray(rows)


def crown_gradient(fit: RevolutionFit, center: CenterPlane) -> Array:
    """Derivative (4 + k,) of the crown radius by the parameters of the fit."""
    section = fit.section
    radius = np.array([section.center_rho + section.radius(np.zeros(1))[0][0]])
    _, angle = section.polar(radius, np.array([center.along]))
    return np.concatenate([np.zeros(4), section.basis(angle)[0][0] * np.cos(angle[0])])


def crown_sigma(fit: RevolutionFit, center: CenterPlane) -> float:
    """Standard deviation of the crown radius, mm; without a center plane the crown may lie beyond the curve's end."""
    gradient = crown_gradient(fit, center)
    beyond = 0.0
    if center.sided:
        here, there = fit.section.polar(np.full(2, fit.crown_radius), center.along + np.array([0.0, center.sigma]))[1]
        rho, _ = fit.section.curve(np.array([here, there]))
        beyond = float(np.ptp(rho))
    return float(np.sqrt(gradient @ fit.covariance @ gradient + beyond**2))


def _close_points(points: Array, fit: RevolutionFit, center: CenterPlane) -> tuple[Array, Array, Array]:
    """Distance from the surface, section angle from the center plane, and degrees about the axis, of the points on the tire."""
    rho, along = fit.axis.meridian(points)
    gate = fit.crown_radius
    near = np.flatnonzero((np.abs(along) < 0.5 * gate) & (rho > 0.5 * gate) & (rho < 1.1 * gate))
    _, angle = fit.section.polar(rho[near], along[near])
    errors, _, _ = fit.section.distance(rho[near], along[near])
    close = (np.abs(errors) < fit.cut) & (angle > fit.section.start) & (angle < fit.section.end)
    near, errors = near[close], errors[close]
    from_center = np.arctan2(along[near] - center.along, rho[near] - fit.section.center_rho)
    return errors, from_center, np.degrees(fit.axis.angle(points[near])) + 180.0


def _side_bins(bins: Array, weights: Array, errors: Array, side: int) -> Array:
    """Weighted mean error of bins 0, 1, ... outward on one side; NaN where too few points lie."""
    inside = bins * side >= 0
    place = np.abs(bins[inside]).astype(np.int64)
    total = np.bincount(place, weights=weights[inside], minlength=1)
    summed = np.bincount(place, weights=(weights * errors)[inside], minlength=1)
    return np.where(total > FEW_POINTS, summed / np.maximum(total, 1e-12), np.nan)


def _bridged(right: Array, left: Array) -> tuple[Array, Array]:
    """Both sides with their gaps filled from bin to bin, over the crown too; no gap is wider than WIDEST_GAP."""
    whole = np.concatenate([left[:0:-1], right])
    known = np.flatnonzero(np.isfinite(whole))
    if len(known) < 2:
        return right, left
    filled = np.interp(np.arange(len(whole)), known, whole[known], np.nan, np.nan)
    for a, b in pairwise(known):
        if b - a > WIDEST_GAP:
            filled[a + 1 : b] = np.nan
    return filled[len(left) - 1 :], filled[: len(left)][::-1]


def _outline(fit: RevolutionFit, center: CenterPlane, right: Array, left: Array) -> tuple[Array, Array, Array]:
    """Offset and radius (m,) of the section from the crown outward, both sides averaged where both are known, and half of
    what the right side stands out more than the left, NaN where not both are known."""
    sides = []
    for side, errors in ((1.0, right), (-1.0, left)):
        x, r = _curve_from_center(fit.section, center, side * BIN * np.arange(len(errors)), errors)
        sides.append((side * x, r))
    length = max(len(right), len(left))
    stacked = np.full((2, 2, length), np.nan)
    for i, (x, r) in enumerate(sides):
        stacked[i, 0, : len(x)], stacked[i, 1, : len(r)] = x, r
    stand = np.hypot(stacked[:, 0], stacked[:, 1] - fit.section.center_rho)
    known = np.isfinite(stacked[:, 0])
    total = np.where(known[:, None], stacked, 0.0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
    seen = known.any(axis=0)
    if not seen.any():
        raise JobError("scan.tire", "its section shows too few points, scan the crown and the sides")
    first = int(np.argmax(seen))
    last = first + int(np.argmin(seen[first:])) if not seen[first:].all() else length
    x, r = total[0, first:last], total[1, first:last]
    if first == 0:
        x[0] = 0.0
    return x, r, 0.5 * (stand[0] - stand[1])


def _curve_from_center(section: MeridianSpline, center: CenterPlane, angles: Array, errors: Array) -> tuple[Array, Array]:
    """Points of the curve plus errors along its normal, where rays from the middle of the section at angles meet it."""
    radius = np.full(len(angles), section.radius(np.zeros(1))[0][0])
    for _ in range(30):  # the ray's length, by fixed-point steps along it; the curve is nearly round about the center
        rho, along = section.center_rho + radius * np.cos(angles), center.along + radius * np.sin(angles)
        radius = radius - section.distance(rho, along)[0]
    rho, along = section.center_rho + radius * np.cos(angles), center.along + radius * np.sin(angles)
    _, out, up = section.distance(rho, along)
    return along + errors * up - center.along, rho + errors * out


def _width_sigma(fit: RevolutionFit, center: CenterPlane, angles: Array) -> float:
    values, _ = fit.section.basis(angles + np.arctan2(center.along, fit.section.radius(np.zeros(1))[0]))
    gradient = np.concatenate([np.zeros(4), values[0] * np.sin(angles[0]) - values[1] * np.sin(angles[1])])
    one_sided = 4.0 * center.sigma**2 if center.sided else 0.0
    return float(np.sqrt(max(gradient @ fit.covariance @ gradient, 0.0) + one_sided))


def _spread(turn: Array, errors: Array, inside: Mask) -> float:
    """Largest less least median of errors over sectors about the axis; NaN with fewer than two sectors."""
    sector = np.floor(turn[inside] / SECTOR_DEG).astype(np.int64)
    order = np.argsort(sector, kind="stable")
    pieces = np.split(errors[inside][order], np.flatnonzero(np.diff(sector[order])) + 1)
    means = [float(np.median(piece)) for piece in pieces if len(piece) >= FEW_POINTS]
    return max(means) - min(means) if len(means) >= 2 else float("nan")


def _coverage(turn: Array) -> float:
    """Degrees of circumference that hold points; gaps of up to 5 degrees are points that are far apart, not gaps."""
    counts = np.bincount(np.floor(turn).astype(np.int64) % 360, minlength=360)
    filled = counts > 0.1 * np.median(counts[counts > 0])
    places = np.flatnonzero(filled)
    gaps = np.diff(np.append(places, places[0] + 360)) - 1
    return float(len(places) + gaps[gaps <= 5].sum())
