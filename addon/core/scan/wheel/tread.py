# SPDX-License-Identifier: GPL-3.0-or-later
"""Knobs and grooves: the section over the tops of a tire's tread, and how deep and how wide the grooves are."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ...base.arrays import Array
from ...fits.robust import NORMAL_MAD, biweight
from ..data.scan_data import random_rows
from .meridian_spline import MeridianSpline
from .revolution_fit import RevolutionFit, fit_revolution
from .tire_region import KNOT_STEP, WIDEST_ANGLE, TireRegion

TREAD_POINTS = 400_000
BAND = np.radians(2.0)
"""Bands of the section in which the outermost surface is looked for."""
STEP = 0.25
"""Height of a layer, mm; a window is WINDOW of them."""
WINDOW = 4
DEEPEST, HIGHEST = 30.0, 30.0
"""How far inside and outside of the fitted section the tops are looked for, mm. The longest knobs are about 20 mm; common
practice, no source."""
SECTOR_DEG = 10.0
ALL_ROUND = 0.5
"""Share of the sectors in which the tread is scanned in which a surface must be found to be part of the tire: strays are not there, and a fork
leg or a brake beside the tire is in few."""
OFF_HULL = 0.6
"""Bands whose outermost surface lies this far inside of the convex hull of all, mm, have no top: a groove runs round there."""
STIFFNESS = 1e-2
"""Of the section's bending against one knot's share of the points: it carries the section over grooves that run round."""
SIDE = np.radians(65.0)
"""Beyond this angle from the crown there is no tread."""
CROWN = np.radians(20.0)
FEW_BANDS, FEW_POINTS = 8, 20
GROOVED = 0.03
"""Share of points under the tops from which a tire has grooves worth the name."""
LEAST_GROOVE = 1.0
"""Grooves under this depth, mm, are no tread to speak of: the section is that of all points."""


@dataclass(frozen=True, eq=False)
class Tread:
    """fit : axis and section of the tops alone; points : (m, 3) mm, on the tops and the plain sides. depth : of the groove's floor under the tops, mm; land : share of the tread's
    points that lie on the tops; under : by how much the mean of all points has the crown lower than the tops, mm"""

    fit: RevolutionFit
    points: Array
    depth: float
    land: float
    under: float


def tread_of(points: Array, fit: RevolutionFit, rng: np.random.Generator) -> Tread | None:
    """The tread of a tire, whose axis is fitted; None if it has no grooves, or if no top is seen about the crown.

    points : (n, 3) float, mm, of the whole scan; fit : of all points near one smooth section, wherever that runs in the tread
    In each band of the section the outermost surface that is found all round; of these the ones on their convex hull, as a
    groove may run round a whole band; then the first peak, from outside, of how many points lie at a height.
    """
    some = random_rows(points, TREAD_POINTS, rng)
    rho, along = fit.axis.meridian(some)
    radius, angle = fit.section.polar(rho, along)
    height = radius - fit.section.radius(angle)[0]
    near = (np.abs(angle) < WIDEST_ANGLE) & (height > -DEEPEST) & (height < HIGHEST) & (rho > 0.6 * fit.crown_radius)
    some, rho, along, angle, height = some[near], rho[near], along[near], angle[near], height[near]
    levels = _outermost(angle, height, np.degrees(fit.axis.angle(some)) + 180.0)
    within = height < levels[_band(angle)] + 0.5 * WINDOW * STEP
    tops = _top_curve(fit.section, levels)
    if tops is None:
        return None
    some, rho, along, angle = (
        some[within],
        rho[within],
        along[within],
        angle[within],
    )  # nothing that lies over the tops in one place
    for _ in range(3):
        tops = _leveled(tops, _band(angle), tops.distance(rho, along)[0], levels)
    distance = tops.distance(rho, along)[0]
    tread = np.abs(angle) < SIDE
    _, sigma = first_peak(distance)
    crowned = np.count_nonzero(np.abs(distance[np.abs(angle) < CROWN]) < LEAST_GROOVE) >= FEW_POINTS
    if not crowned or np.mean(distance[tread] < -max(4.0 * sigma, LEAST_GROOVE)) < GROOVED:
        return None
    depth = _floor(-distance[tread & (distance < -max(2.0 * sigma, 0.5 * LEAST_GROOVE))])
    on_top = np.abs(distance) < np.clip(0.4 * depth, max(1.5 * sigma, 0.1), max(3.5 * sigma, 0.15))
    on_top &= np.isfinite(levels)[_band(angle)]
    crown = float(tops.curve(np.linspace(tops.start, tops.end, 400))[0].max())
    top_points = some[on_top]
    own = fit_revolution(top_points, TireRegion(fit.axis, crown, tops), rng, stiffness=STIFFNESS)
    rho, along = own.axis.meridian(some)
    distance = own.section.distance(rho, along)[0]
    tread &= (distance > -DEEPEST) & (distance < 4.0 * sigma)
    land = float(np.mean(distance[tread] > -0.5 * depth))
    _, angle = own.section.polar(rho, along)
    under = -float(distance[tread & (np.abs(angle) < CROWN)].mean())
    return Tread(own, top_points, depth, land, under)


def first_peak(heights: Array) -> tuple[float, float]:
    """Where, from above, the number of points at a height first stops growing, and the spread of the points about it, mm.

    heights : (n,) float, mm, of points within a few millimeters of a surface and of others further below
    Slopes count against the steepest one so far, so that tops stand out too where a larger floor lies close below them.
    """
    cell = 0.05
    edges = np.arange(-4.0, 4.0 + cell, cell)
    counts, _ = np.histogram(heights, edges)
    kernel = np.exp(-0.5 * (np.arange(-8, 9) / 3.0) ** 2)
    density = np.convolve(counts, kernel / kernel.sum(), mode="same")[::-1]
    middles = (0.5 * (edges[1:] + edges[:-1]))[::-1]
    growth = np.diff(density)
    steepest = np.maximum.accumulate(growth)
    floor = 0.1 * density.max()
    peak = next(
        (i for i in range(3, len(growth)) if density[i] > floor and growth[i] < 0.15 * steepest[i]), int(np.argmax(density))
    )
    above = heights[(heights > middles[peak]) & (heights < middles[peak] + 4.0)]
    return float(middles[peak]), max(NORMAL_MAD * float(np.median(above - middles[peak])), 0.02) if len(above) else 0.02


def _band(angle: Array) -> Array:
    return np.asarray(np.floor((angle + WIDEST_ANGLE) / BAND).astype(np.int64))


def _outermost(angle: Array, height: Array, turn: Array) -> Array:
    """Height (bands,) over the fitted section of the outermost surface that is found all round in each band, NaN if there is none."""
    bands = int(np.ceil(2.0 * WIDEST_ANGLE / BAND)) + 1
    layers, sectors = int((DEEPEST + HIGHEST) / STEP) + 1, int(360.0 / SECTOR_DEG) + 1
    seen = np.zeros((bands, layers, sectors), bool)
    seen[_band(angle), ((height + DEEPEST) / STEP).astype(np.int64), (turn / SECTOR_DEG).astype(np.int64)] = True
    window = seen.copy()
    for i in range(1, WINDOW):
        window[:, :-i] |= seen[:, i:]
    counts = np.bincount((turn[np.abs(angle) < SIDE] / SECTOR_DEG).astype(np.int64), minlength=sectors)
    covered = counts > 0.2 * np.percentile(counts[counts > 0], 90.0) if counts.any() else counts > 0
    enough = np.count_nonzero(window[:, :, covered], axis=2) >= max(ALL_ROUND * np.count_nonzero(covered), 3)
    last = layers - 1 - np.argmax(enough[:, ::-1], axis=1)
    return np.where(enough.any(axis=1), (last + 0.5 * WINDOW) * STEP - DEEPEST, np.nan)


def _top_curve(section: MeridianSpline, levels: Array) -> MeridianSpline | None:
    """A smooth section through the levels that lie on the convex hull of all; the other levels become NaN in place."""
    angles = (np.arange(len(levels)) + 0.5) * BAND - WIDEST_ANGLE
    known = np.flatnonzero(np.isfinite(levels))
    if len(known) < FEW_BANDS:
        return None
    radius = section.radius(angles)[0] + levels
    rho, along = section.center_rho + radius * np.cos(angles), radius * np.sin(angles)
    levels[known[_inside_hull(rho[known], along[known]) > OFF_HULL]] = np.nan
    known = np.flatnonzero(np.isfinite(levels))
    return _smooth(section.center_rho, angles[known], radius[known])


def _smooth(center_rho: float, angles: Array, radius: Array) -> MeridianSpline:
    low, high = float(angles.min()) - 0.5 * BAND, float(angles.max()) + 0.5 * BAND
    count = max(int(np.ceil((high - low) / KNOT_STEP)), 1)
    blank = MeridianSpline(center_rho, low, (high - low) / count, np.zeros(count + 3))
    values, _ = blank.basis(angles)
    bend = np.diff(np.eye(count + 3), 2, axis=0)
    weights = np.ones(len(angles))
    for _ in range(5):
        normal = (values.T * weights) @ values + 0.02 * len(values) / count * bend.T @ bend
        coefficients = np.linalg.solve(normal, (values.T * weights) @ radius)
        off = radius - values @ coefficients
        weights = biweight(off, max(4.685 * NORMAL_MAD * float(np.median(np.abs(off))), 0.5))
    return replace(blank, coefficients=coefficients)


def _inside_hull(rho: Array, along: Array) -> Array:
    """How far (n,) points, in order round the section, lie inside of their convex hull, mm."""
    points = np.column_stack([along, rho])
    hull: list[int] = []
    for i in range(len(points)):
        while len(hull) > 1 and _turns_left(points[hull[-2]], points[hull[-1]], points[i]):
            hull.pop()
        hull.append(i)
    inside = np.zeros(len(points))
    for a, b in pairwise(hull):
        edge = points[b] - points[a]
        inside[a : b + 1] = (
            edge[0] * (points[a, 1] - points[a : b + 1, 1]) - edge[1] * (points[a, 0] - points[a : b + 1, 0])
        ) / np.hypot(*edge)
    return inside


def _turns_left(a: Array, b: Array, c: Array) -> bool:
    return bool((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) >= 0.0)


def _leveled(tops: MeridianSpline, band: Array, off: Array, levels: Array) -> MeridianSpline:
    """The curve moved, in each band with a top, to the first peak of the points in it and its two neighbors."""
    order = np.argsort(band, kind="stable")
    ends = np.searchsorted(band[order], np.arange(len(levels) + 1))
    kept, peaks = [], []
    for i in np.flatnonzero(np.isfinite(levels)):
        near = off[order[ends[max(i - 1, 0)] : ends[min(i + 2, len(levels))]]]
        if np.count_nonzero(np.abs(near) < 4.0) >= FEW_POINTS:
            kept.append(i)
            peaks.append(first_peak(near)[0])
    if len(kept) < FEW_BANDS:
        return tops
    angles = (np.array(kept) + 0.5) * BAND - WIDEST_ANGLE
    value, slope = tops.radius(angles)
    return _smooth(tops.center_rho, angles, value + np.array(peaks) * np.hypot(1.0, slope / value))


def _floor(depths: Array) -> float:
    """The depth at which most points of the grooves lie, mm; walls of knobs spread theirs over all depths."""
    counts, edges = np.histogram(depths, np.arange(0.0, DEEPEST + 0.5, 0.5))
    best = int(np.argmax(np.convolve(counts, [1.0, 2.0, 1.0], mode="same")))
    near = depths[np.abs(depths - 0.5 * (edges[best] + edges[best + 1])) < 1.0]
    return float(np.median(near))
