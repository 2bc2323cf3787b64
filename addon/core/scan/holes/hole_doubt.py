# SPDX-License-Identifier: GPL-3.0-or-later
"""How well the points about a hole tell its circle, and how round its rim is."""

from __future__ import annotations

import numpy as np

from ...base.arrays import Array
from .hole_layers import SECTORS, HoleLayer, HoleLayers
from .hole_likelihood import Amplitudes, LayerRates, radius_pull, shape_slopes, total_rate, wall_rows

EDGE_INFORMATION = 0.9032
"""Integral of n(u)^2 / Phi(u) with n and Phi the density and the distribution of the standard normal law."""
NOISE_PRIOR = 0.35
"""Standard deviation of the logarithm of the noise in the face's plane over that square to it, which is measured. A scanner's
noise is not the same in all directions; common practice, no source."""


def hole_doubt(
    layers: HoleLayers, rates: list[LayerRates], amplitudes: Amplitudes, radius: float, noise: float
) -> tuple[Array, Array]:
    """Covariance (3, 3) of center and radius with all amplitudes open, and the parts (SECTORS, 2) of the rim as in HoleFit.

    radius, noise : mm, at the greatest likelihood. Inverse of Fisher's information; a part's distance is its score over the
    information that is to be expected of it.
    """
    count = len(layers.layers)
    size = 4 + 2 * count + 2 * SECTORS
    information = np.zeros((size, size))
    pull, weight = np.zeros(SECTORS), np.zeros(SECTORS)
    for i, (layer, rate) in enumerate(zip(layers.layers, rates, strict=True)):
        row, n = wall_rows(layer), len(layer.away)
        slopes = np.zeros((n, size))
        wall = amplitudes.wall[row]
        slopes[:, :4] = shape_slopes(layer.sectors, wall, amplitudes.face[i], rate)
        slopes[:, 4 + i] = rate.face
        slopes[:, 4 + count + i] = 1.0
        slopes[np.arange(n), 4 + 2 * count + SECTORS * row + layer.sectors] = rate.wall
        slopes /= total_rate(layer, rate, amplitudes, i)[:, None]
        weighted = slopes * layer.weights[:, None]
        information += weighted.T @ slopes
        pull += np.bincount(layer.sectors, weighted[:, 2], SECTORS)
        whole = radius_pull(layers, layer.depth, amplitudes.face[i], 0.0 * wall, radius) / max(np.count_nonzero(layers.seen), 1)
        pull -= whole * layers.seen + 2.0 * np.pi * wall * layers.seen * layer.depth / SECTORS
        weight += _expected(layers, layer, amplitudes.face[i], wall, radius, noise)
    information[3, 3] += 1.0 / NOISE_PRIOR**2
    used = np.concatenate([np.ones(4, bool), np.diag(information)[4:] * _squares(amplitudes) > 0.1])
    covariance = np.linalg.pinv(information[np.ix_(used, used)], hermitian=True)[:3, :3]
    safe = np.maximum(weight, 1e-12)
    return covariance, np.column_stack([pull / safe, np.where(weight > 1e-6, 1.0 / np.sqrt(safe), np.inf)])


def _expected(layers: HoleLayers, layer: HoleLayer, face: float, wall: Array, radius: float, noise: float) -> Array:
    """Information (SECTORS,) on the radius to be expected from each part: what is found there varies too much with few points."""
    s = float(np.hypot(noise, layer.blur))
    edge = EDGE_INFORMATION * face / s if layer.part == "face" else 0.0
    return np.asarray(layers.seen * (edge + wall * layer.depth / s**2) * 2.0 * np.pi * radius / SECTORS)


def _squares(amplitudes: Amplitudes) -> Array:
    return np.asarray(np.concatenate([amplitudes.face, amplitudes.stray, amplitudes.wall.ravel()]) ** 2)
