# SPDX-License-Identifier: GPL-3.0-or-later
"""Find the largest surface of revolution in a scan, without hints."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ...base.arrays import Array, Index, Mask
from ...base.errors import JobError
from ...base.row_vectors import dot_rows
from ...fits.robust import biweight
from ..data.surface_samples import SurfaceSamples
from .axis import Axis
from .linear_complex import axis_of_normals, feet, meridian_step, plucker_rows, skewness

BALLS = 160
"""Places where normals are drawn together, so that a part that covers little of the scan still is hit."""
DRAWS = 10
DRAWN = (5, 20)
"""Draws from each ball, and the number of normals in one: five are the least, and hit where little is clean; twenty tell
the axis better where the ball is clean."""
FULL_LEVER = 0.5
"""Of the scan's extent; the radius up to which more radius means more evidence."""
LARGEST_RADIUS = 2.0
"""Of the scan's extent; an arc of 30 degrees is half as long as its radius; a nearly flat part looks like a piece of a far larger wheel."""
STARTS = 20
"""Best draws by surface times radius, and again as many by surface alone, from which the axis is refined."""
ANGLE_STEP_DEG = 5.0
FURTHEST_ROW = 400
"""Cells from the axis beyond which all points are one row: further out than twice the extent, where nothing counts."""
_TURN_STEPS = int(360.0 / ANGLE_STEP_DEG)

COARSE = (0.25, 0.15, 0.1)
"""Cuts of the robust weights, as sine of the angle between normal and meridian plane, step by step; for all starts."""
FINE = (0.08, 0.06, 0.05, 0.04, 0.03, 0.03, 0.03)
"""The same for the best of them."""
EVIDENCE_SINE = 0.06
"""Normals that stand out of the meridian plane by more than this are no evidence for an axis."""

ROUGH_SINE = 0.12
"""The same for the surface alone, and for what belongs to the part once its axis is known: rough tread, and the facets of
a wheel that was modeled with 26 sides or more, stay below it."""


@dataclass(frozen=True, eq=False)
class Revolution:
    """An axis, the samples (n,) bool that lie on a surface of revolution about it, and how much of one there is.

    evidence : samples times radius, and size : samples alone, both less what chance would give; for choosing among axes
    only. A wheel that is small in a large scan has little evidence, but size
    """

    axis: Axis
    inside: Mask
    evidence: float
    size: float


def revolution_candidates(samples: SurfaceSamples, rng: np.random.Generator) -> list[Revolution]:
    """Axes about which much surface turns, at most ten, at least one: by turns the one with most surface times radius, and
    the one with most surface.

    Raises JobError if nothing in the samples turns about an axis.
    Random draws of normals (five leave one linear complex) each from one ball, ranked by how many normals meet
    the axis; the best are refined with robust weights. Fischler and Bolles, Comm. ACM 24 (1981) 381.
    """
    if len(samples.points) < 50:
        raise JobError("scan", f"{len(samples.points)} patches of smooth surface, too few to find a wheel in")
    center = samples.points.mean(axis=0)
    extent = float(np.linalg.norm(np.ptp(samples.points, axis=0)))
    points = (samples.points - center) / extent
    some = rng.permutation(len(points))[:20_000]
    points, normals = points[some], samples.normals[some]
    cell = 3.0 * samples.cell / extent
    starts = _best_draws(points, normals, rng)
    found = _by_turns([_coarse(axis, points[:4000], normals[:4000], 2.0 * cell) for axis in starts])
    found = _by_turns([_fine(revolution.axis, points, normals, cell) for revolution in found[:12]])
    if not found:
        raise JobError("scan", "no part of it is a surface of revolution, scan more of the tire or mark it")
    return [_in_scan(revolution, samples, center, extent) for revolution in _distinct(found)]


def _distinct(found: list[Revolution]) -> list[Revolution]:
    """Of axes that are nearly one, the first."""
    kept: list[Revolution] = []
    for revolution in found:
        near = (
            abs(float(old.axis.direction @ revolution.axis.direction)) > 0.9999
            and old.axis.distance_to(revolution.axis.point) < 0.01
            for old in kept
        )
        if not any(near):
            kept.append(revolution)
    return kept


def _in_scan(revolution: Revolution, samples: SurfaceSamples, center: Array, extent: float) -> Revolution:
    axis = Axis(center + extent * revolution.axis.point, revolution.axis.direction)
    inside = np.abs(skewness(axis, samples.points, samples.normals)[0]) < ROUGH_SINE
    return Revolution(axis, inside, revolution.evidence, revolution.size)


def _by_turns(found: list[Revolution]) -> list[Revolution]:
    """The first by evidence, the first by size, the second by evidence, ...; each once, none without evidence."""
    order: list[Revolution] = []
    for pair in zip(
        sorted(found, key=lambda revolution: -revolution.evidence),
        sorted(found, key=lambda revolution: -revolution.size),
        strict=True,
    ):
        order.extend(one for one in pair if one.evidence + one.size > 0.0 and not any(one is old for old in order))
    return order


def _best_draws(points: Array, normals: Array, rng: np.random.Generator) -> list[Axis]:
    rows = plucker_rows(points, normals)
    null = np.concatenate([np.linalg.svd(rows[index])[2][:, -1] for index in _draws(points, rng)])
    length = np.linalg.norm(null[:, :3], axis=1)
    null = null[length > 1e-6] / length[length > 1e-6, None]
    directions = null[:, :3]
    feet_points = feet(directions, null[:, 3:])
    test = rng.permutation(len(points))[:1000]
    kept: list[Axis] = []
    for scores in _scores(directions, feet_points, points[test], normals[test], rows[test]):
        _keep_distinct(kept, directions, feet_points, scores, points.mean(axis=0), len(kept) + STARTS)
    return kept


def _keep_distinct(kept: list[Axis], directions: Array, feet_points: Array, scores: Array, middle: Array, most: int) -> None:
    """Add axes to kept, best scores first, that differ from all kept ones, until it holds `most`."""
    order = np.argsort(-scores)[:600]
    tops = directions[order]
    nearest = feet_points[order] + dot_rows(middle - feet_points[order], tops)[:, None] * tops
    free = np.ones(len(order), bool)
    for old in kept:
        free &= _apart(old, nearest, tops)
    for i in range(len(order)):
        if free[i] and len(kept) < most:
            kept.append(Axis(nearest[i], tops[i]))
            free &= _apart(kept[-1], nearest, tops)


def _apart(axis: Axis, points: Array, directions: Array) -> Mask:
    """(n,) True for lines that are turned by more than 4 degrees against an axis, or pass it at more than 0.04."""
    turned = np.abs(directions @ axis.direction) < np.cos(np.radians(4.0))
    return np.asarray(turned | (np.linalg.norm(np.cross(points - axis.point, axis.direction), axis=1) > 0.04))


def _draws(points: Array, rng: np.random.Generator) -> list[Index]:
    """For each of DRAWN the indices (d, count) of that many points, each row from one ball of random size."""
    balls = []
    for center in points[rng.integers(0, len(points), BALLS)]:
        radius = 0.04 * 20.0 ** rng.uniform(0.0, 1.0)
        inside = np.flatnonzero(dot_rows(points - center, points - center) < radius**2)
        if len(inside) >= 12:
            balls.append(inside)
    if not balls:
        balls.append(np.arange(len(points)))
    return [np.concatenate([rng.choice(inside, (DRAWS, count)) for inside in balls]) for count in DRAWN]


def _scores(directions: Array, origins: Array, points: Array, normals: Array, rows: Array) -> tuple[Array, Array]:
    """Sums (h,) over the samples that turn about each axis: squared sine of normal to axis times radius, and that alone."""
    # ranking only: single precision halves the time of the widest arrays here
    a, q, p, n, r = (values.astype(np.float32) for values in (directions, origins, points, normals, rows))
    meet = a @ r[:, :3].T + np.cross(q, a) @ r[:, 3:].T
    along = a @ p.T - np.einsum("ij,ij->i", a, q)[:, None]
    square = np.sum(p**2, axis=1) - 2.0 * q @ p.T + np.sum(q**2, axis=1)[:, None]
    rho = np.sqrt(np.maximum(square - along**2, 1e-8))
    square_to_axis = np.where(rho < LARGEST_RADIUS, 1.0 - (a @ n.T) ** 2, 0.0)
    by_radius = (np.minimum(rho, FULL_LEVER) * square_to_axis * _excess(meet / rho, 0.05)).sum(axis=1)
    alone = (square_to_axis * _excess(meet / rho, ROUGH_SINE)).sum(axis=1)
    return np.asarray(by_radius, dtype=np.float64), np.asarray(alone, dtype=np.float64)


def _excess(sine: NDArray[Any], narrow: float) -> NDArray[Any]:
    """1 within a narrow band about zero, less a quarter in a band four times as wide, so that normals in any direction
    add up to nothing and only those that crowd about zero count."""
    size = np.abs(sine)
    return np.asarray((size < narrow).astype(sine.dtype) - np.float32(0.25) * (size < 4.0 * narrow))


def _coarse(axis: Axis, points: Array, normals: Array, cell: float) -> Revolution:
    """Robust steps by the linear complex: far reaching, but drawn toward the surface by noise of the normals."""
    for cut in COARSE:
        weights = _weights(axis, points, normals, cell, cut)
        if np.count_nonzero(weights) < 20:
            return Revolution(axis, np.zeros(len(points), bool), 0.0, 0.0)
        rho, _ = axis.meridian(points)
        axis = axis_of_normals(points, normals, weights / np.maximum(rho, 0.02) ** 2)
    return _judged(axis, points, normals, cell)


def _fine(axis: Axis, points: Array, normals: Array, cell: float) -> Revolution:
    """Robust Gauss-Newton steps on the angles between normals and meridian planes, which noise does not bias."""
    for cut in FINE:
        weights = _weights(axis, points, normals, cell, cut)
        if np.count_nonzero(weights) < 20:
            return Revolution(axis, np.zeros(len(points), bool), 0.0, 0.0)
        axis = meridian_step(axis, points, normals, weights)
    return _judged(axis, points, normals, cell)


def _weights(axis: Axis, points: Array, normals: Array, cell: float, cut: float) -> Array:
    sine, rho = skewness(axis, points, normals)
    lever = (1.0 - (normals @ axis.direction) ** 2) * (rho < LARGEST_RADIUS)
    share, _ = coherence(axis, points, np.abs(sine) < max(cut, EVIDENCE_SINE), cell)
    return biweight(sine, cut) * lever * share


def _judged(axis: Axis, points: Array, normals: Array, cell: float) -> Revolution:
    sine, rho = skewness(axis, points, normals)
    near = rho < LARGEST_RADIUS
    square_to_axis = 1.0 - (normals @ axis.direction) ** 2
    sums = []
    for limit, lever in ((EVIDENCE_SINE, np.minimum(rho, FULL_LEVER)), (ROUGH_SINE, np.ones(len(rho)))):
        inside = (np.abs(sine) < limit) & near
        share, turns = coherence(axis, points, inside, cell)
        counted = share**2 * ((turns >= 3) & near) * _excess(sine, 0.5 * limit) * square_to_axis
        sums.append(max(float((lever * counted).sum()), 0.0))
    return Revolution(axis, inside, sums[0], sums[1])


def coherence(axis: Axis, points: Array, inside: Mask, cell: float) -> tuple[Array, Array]:
    """For each point (n,): the share of the points at its radius and place along the axis that are inside, and in how many
    steps of 5 degrees about the axis such points occur. A part that turns about the axis has a share near one."""
    rho, along = axis.meridian(points)
    rows = np.minimum(rho / cell, FURTHEST_ROW).astype(np.int64)
    columns = ((along - along.min()) / cell).astype(np.int64)
    place = rows * (columns.max() + 1) + columns
    total = np.bincount(place)
    share = np.bincount(place, weights=inside) / np.maximum(total, 1)
    step = ((axis.angle(points[inside]) + np.pi) * (_TURN_STEPS / (2.0 * np.pi))).astype(np.int64)
    seen = np.zeros((len(total), _TURN_STEPS + 1), bool)
    seen[place[inside], step] = True
    turns = np.count_nonzero(seen, axis=1)
    return share[place], turns[place].astype(np.float64)
