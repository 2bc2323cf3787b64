# SPDX-License-Identifier: GPL-3.0-or-later
"""Holes of one size in a regular pattern, taken together where the scan does not speak against it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...base.arrays import Array
from ...fits.levenberg_marquardt import levenberg_marquardt
from .hole_circles import HoleCircle
from .hole_layouts import HoleLayout, hole_layouts

REJECT_Z = 2.326
"""One-sided 1 % point of the normal law: a pattern that is true is rejected in one scan of a hundred."""
SHARED = 0.4
"""Of one hole's doubt: what all holes of a scan share, so that no mean takes it away, as a wall that is seen from one side, or
noise that is not the same in all directions. From trials with half-seen walls."""


@dataclass(frozen=True, eq=False)
class HoleSize:
    """One diameter that several holes have, with its standard deviation, mm. members : their places in the list"""

    diameter: float
    sigma: float
    members: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class HolePattern:
    """holes : with pooled diameters and places; sizes : the smallest first
    layout : "pitch circle", "row" or "rectangle", None if there are too few holes or they lie in none of these; spans : mm, its
    diameter, pitch, or sides
    """

    holes: tuple[HoleCircle, ...]
    sizes: tuple[HoleSize, ...]
    layout: str | None
    spans: tuple[float, ...]


def hole_pattern(holes: list[HoleCircle]) -> HolePattern:
    """The holes as one pattern: same size and regular places are hypotheses, each held against the holes' own doubt.

    A hypothesis stands unless chi-squared of what it leaves exceeds its 1 % point. Weighted means and their doubt, widened by the
    root of chi-squared over its freedom where that exceeds one: Birge, Phys. Rev. 40 (1932) 207.
    """
    found = _sizes(holes, tuple(range(len(holes)))) if holes else []
    sizes = tuple(sorted(found, key=lambda size: size.diameter))
    pooled = list(holes)
    for size in sizes:
        for i in size.members:
            pooled[i] = replace(pooled[i], diameter=size.diameter, diameter_sigma=size.sigma)
    placed = _placed(holes)
    if placed is None:
        return HolePattern(tuple(pooled), sizes, None, ())
    layout, spans, centers, sigmas = placed
    rows = zip(pooled, centers, sigmas, strict=True)
    return HolePattern(tuple(replace(hole, center=c, center_sigma=float(s)) for hole, c, s in rows), sizes, layout, spans)


def chi_squared_limit(freedom: int) -> float:
    """1 % point of chi-squared, within 1 %: Wilson and Hilferty, Proc. Nat. Acad. Sci. 17 (1931) 684."""
    part = 2.0 / (9.0 * freedom)
    return float(freedom * (1.0 - part + REJECT_Z * np.sqrt(part)) ** 3)


def _sizes(holes: list[HoleCircle], members: tuple[int, ...]) -> list[HoleSize]:
    """One size if the diameters allow it, else the sizes on both sides of the widest gap."""
    values = np.array([holes[i].diameter for i in members])
    sigmas = np.array([holes[i].diameter_sigma for i in members])
    weights = sigmas**-2.0
    mean = float(weights @ values / weights.sum())
    chi, freedom = float((((values - mean) / sigmas) ** 2).sum()), len(members) - 1
    if freedom == 0 or chi <= chi_squared_limit(freedom):
        sigma = float(np.sqrt(_widened(chi, freedom) / weights.sum() + (freedom > 0) * (SHARED * sigmas.min()) ** 2))
        return [HoleSize(mean, sigma, members)]
    order = np.argsort(values)
    gap = int(np.argmax(np.diff(values[order]))) + 1
    low, high = (tuple(members[i] for i in rows) for rows in (order[:gap], order[gap:]))
    return _sizes(holes, low) + _sizes(holes, high)


def _widened(chi: float, freedom: int) -> float:
    return max(1.0, chi / max(freedom, 1))


def _placed(holes: list[HoleCircle]) -> tuple[str, tuple[float, ...], Array, Array] | None:
    """Layout, spans, centers (n, 2) and their standard deviations (n,) of the first layout that is not rejected."""
    centers = np.array([hole.center for hole in holes]).reshape(-1, 2)
    sigmas = np.array([hole.center_sigma for hole in holes])
    for layout in hole_layouts(centers):
        order = layout.order
        wanted, weight = centers[order], 1.0 / sigmas[order][:, None]

        def model(
            parameters: Array, one: HoleLayout = layout, wanted: Array = wanted, weight: Array = weight
        ) -> tuple[Array, Array]:
            places, slopes = one.places(parameters)
            return (weight * (places - wanted)).ravel(), (weight[:, :, None] * slopes).reshape(-1, len(parameters))

        found = levenberg_marquardt(model, layout.start)
        chi, freedom = float(found.residuals @ found.residuals), 2 * len(holes) - len(layout.start)
        if chi > chi_squared_limit(freedom):
            continue
        covariance = np.linalg.pinv(found.jacobian.T @ found.jacobian) * _widened(chi, freedom)
        places, slopes = layout.places(found.parameters)
        pooled, doubt = centers.copy(), sigmas.copy()
        pooled[order] = places
        variance = 0.5 * np.einsum("nij,jk,nik->n", slopes, covariance, slopes)
        doubt[order] = np.sqrt(variance + (SHARED * sigmas[order]) ** 2)
        return layout.name, layout.spans(found.parameters), pooled, doubt
    return None
