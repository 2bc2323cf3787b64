# SPDX-License-Identifier: GPL-3.0-or-later
"""Which of the parts that turn about an axis is the tire, and a first section of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array, Index
from ...base.errors import JobError
from ..data.surface_samples import SurfaceSamples
from .axis import Axis
from .meridian_spline import MeridianSpline
from .revolution_search import Revolution, coherence

LOWEST_RADIUS = 0.7
"""Of the crown's radius: below it rim, spokes and brake disc may lie, above it only the tire. Half the section height of
the tallest tires in common use ends well above it."""
WIDEST_ANGLE = np.radians(110.0)
"""Polar angle about the section's center up to which the section is followed, past its widest point."""
KNOT_STEP = np.radians(5.0)


@dataclass(frozen=True, eq=False)
class TireRegion:
    """The axis with its point in the middle of the section, the crown's radius (rough), and a first section."""

    axis: Axis
    crown_radius: float
    section: MeridianSpline


def tire_regions(samples: SurfaceSamples, revolution: Revolution) -> list[TireRegion]:
    """The outer sections of the connected parts of the meridian plane that may be the tire, one or two.

    One has the most surface weighted by radius; the other the most weighted by the turn that it is seen over too, as what
    is seen at few angles may turn about the axis by chance, and join parts that do not belong together.
    Raises JobError if too little of it is left to lay a curve through.
    """
    axis = revolution.axis
    rho, along = axis.meridian(samples.points)
    share, turns = coherence(axis, samples.points, revolution.inside, 3.0 * samples.cell)
    chosen = np.flatnonzero(revolution.inside & (share > 0.6) & (turns >= 3))
    if len(chosen) < 30:
        raise JobError("scan.tire", "too little of it is a surface of revolution, scan more of the tire or mark it")
    rho, along, turns = rho[chosen], along[chosen], turns[chosen]
    parts = [_largest_part(rho, along, weights, 4.0 * samples.cell) for weights in (rho, rho * turns)]
    if np.array_equal(parts[0], parts[1]):
        del parts[1]
    return [region_of(axis, rho[part], along[part]) for part in parts]


def region_of(axis: Axis, rho: Array, along: Array) -> TireRegion:
    """The outer section through points of a tire, given by radius (n,) and place along the axis (n,).

    Raises JobError if they are too few.
    """
    crown = float(np.percentile(rho, 99.5))
    outer = along[rho > 0.5 * (1.0 + LOWEST_RADIUS) * crown]
    low, high = np.percentile(outer, [1.0, 99.0])
    half = float(np.clip(0.5 * (high - low), 0.08 * crown, 0.25 * crown))
    middle = 0.5 * float(low + high)
    near = rho > LOWEST_RADIUS * crown
    return TireRegion(axis.at(middle), crown, _first_section(rho[near], along[near] - middle, crown - half))


def _largest_part(rho: Array, along: Array, weights: Array, cell: float) -> Index:
    """Indices of the points in the connected group of square cells whose points have the largest sum of weights."""
    cells = np.stack([(rho / cell).astype(np.int64), ((along - along.min()) / cell).astype(np.int64)], axis=1)
    unique, place = np.unique(cells, axis=0, return_inverse=True)
    place = place.reshape(-1)
    weight = np.bincount(place, weights=weights)
    open_cells = {(int(i), int(j)): n for n, (i, j) in enumerate(unique)}
    best, best_weight = np.zeros(0, np.int64), -1.0
    while open_cells:
        stack = [next(iter(open_cells))]
        group = [open_cells.pop(stack[0])]
        while stack:
            i, j = stack.pop()
            around = [(i + di, j + dj) for di in (-1, 0, 1) for dj in (-1, 0, 1)]
            for cell_at in around:
                if cell_at in open_cells:
                    group.append(open_cells.pop(cell_at))
                    stack.append(cell_at)
        if weight[group].sum() > best_weight:
            best, best_weight = np.array(group), float(weight[group].sum())
    return np.flatnonzero(np.isin(place, best))


def _first_section(rho: Array, along: Array, center_rho: float) -> MeridianSpline:
    blank = MeridianSpline(center_rho, 0.0, KNOT_STEP, np.zeros(4))
    radius, angle = blank.polar(rho, along)
    near = np.abs(angle) < WIDEST_ANGLE
    if np.count_nonzero(near) < 20:
        raise JobError("scan.tire", "its section shows too few points, scan the crown and the sides")
    low, high = np.percentile(angle[near], [0.5, 99.5])
    count = max(int(np.ceil((high - low) / KNOT_STEP)), 1)
    section = MeridianSpline(center_rho, float(low), float(high - low) / count, np.zeros(count + 3))
    values, _ = section.basis(angle[near])
    bend = np.diff(np.eye(count + 3), 2, axis=0)
    normal = values.T @ values + 0.05 * len(values) / count * bend.T @ bend
    coefficients = np.linalg.solve(normal, values.T @ radius[near])
    return MeridianSpline(center_rho, section.start, section.step, coefficients)
