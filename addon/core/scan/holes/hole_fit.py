# SPDX-License-Identifier: GPL-3.0-or-later
"""A hole's circle from the points of its rim and wall, by greatest likelihood."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...base.arrays import Array
from .hole_layers import SECTORS, HoleLayer, HoleLayers, hole_layers
from .hole_likelihood import (
    Amplitudes,
    LayerRates,
    face_gain,
    layer_rates,
    log_likelihood,
    next_amplitudes,
    total_rate,
    wall_rows,
)

ROUNDS = 60
EDGE_INFORMATION = 0.9032
"""Integral of n(u)^2 / Phi(u) with n and Phi the density and the distribution of the standard normal law."""
REACH = 1.7
"""Radius of the window about a hole over that of the hole; 4 standard deviations of the noise are added."""
BEVEL = 4.0
"""Standard deviations by which the wall must be narrower than rim and wall together, to be taken alone."""
NOISE_PRIOR = 0.35
"""Standard deviation of the logarithm of the noise in the face's plane over that square to it, which is measured. A scanner's
noise is not the same in all directions; common practice, no source."""


@dataclass(frozen=True, eq=False)
class HoleFit:
    """center (2,), radius, mm; covariance (3, 3) of center and radius; noise : mm; parts : (SECTORS, 2) for each sector how far
    the rim lies outside of the circle, mm, and the standard deviation of that, infinite where nothing is seen
    gain : logarithm of the likelihood of the face's points with this hole over that of an even face; beveled : True if the rim is wider than the wall, and the circle is the wall's"""

    center: Array
    radius: float
    covariance: Array
    noise: float
    parts: Array
    gain: float
    beveled: bool


def fit_hole(points: Array, center: Array, radius: float, sigma: float) -> HoleFit | None:
    """The circle of a hole that is roughly known; None if too little face is seen about it or the fit runs away.

    points : (n, 3) float, mm, in the face's plane and out of it; sigma : their noise out of the plane, mm
    """
    spot, size = np.array(center, dtype=np.float64), float(radius)
    for _ in range(3):
        layers = hole_layers(points, spot, size, sigma, REACH * size + 4.0 * sigma)
        fit = None if layers is None else _fitted(layers, size, sigma)
        if layers is None or fit is None:
            return None
        moved = np.hypot(*fit.center)
        middle, spot, before, size = spot, spot + fit.center, size, fit.radius
        if moved < 0.1 * size and abs(size - before) < 0.05 * size:
            break
    wall = _wall_alone(layers, fit, sigma)
    return replace(fit, center=spot) if wall is None else replace(wall, center=middle + wall.center, gain=fit.gain, beveled=True)


def _wall_alone(layers: HoleLayers, fit: HoleFit, sigma: float) -> HoleFit | None:
    """The circle of the lower wall, if it is well seen and not that of rim and wall together, as under a bevel."""
    if len(layers.layers) < 3:
        return None
    own = replace(layers, layers=layers.layers[2:])
    lower = own.layers[0]
    close = np.abs(np.hypot(*(lower.away - fit.center).T) - fit.radius) < 4.0 * sigma + 0.1 * fit.radius
    if np.count_nonzero(np.bincount(lower.sectors[close], minlength=SECTORS) >= 4) < 0.75 * SECTORS:
        return None
    wall = _fitted(own, fit.radius, sigma)
    if wall is None or fit.radius - wall.radius < BEVEL * float(np.sqrt(wall.covariance[2, 2])):
        return None
    return wall


def _fitted(layers: HoleLayers, radius: float, sigma: float) -> HoleFit | None:
    start = np.log(max(sigma, 0.02 * layers.layers[0].blur, 1e-3))
    best: tuple[float, Array, Amplitudes] | None = None
    for factor in (0.9, 1.05, 1.2):
        found = _climb(layers, np.array([0.0, 0.0, factor * radius, start]), start)
        if found is not None and (best is None or found[0] > best[0]):
            best = found
    if best is None:
        return None
    _, shape, amplitudes = best
    rates = [layer_rates(layer, shape) for layer in layers.layers]
    covariance, parts = _doubt(layers, rates, amplitudes, shape[2], float(np.exp(shape[3])))
    gain = face_gain(layers, rates[0], amplitudes, float(shape[2]))
    radius = float(shape[2]) - _edge_bias(layers, amplitudes, shape, float(covariance[2, 2]))
    return HoleFit(shape[:2], radius, covariance, float(np.exp(shape[3])), parts, gain, False)


def _edge_bias(layers: HoleLayers, amplitudes: Amplitudes, shape: Array, variance: float) -> float:
    """By how much the greatest likelihood puts an edge too far into its points, mm, to first order.

    Cox and Snell, J. Royal Statist. Soc. B 30 (1968) 248, for the edge Phi(u / s) of evenly spread points: variance / s times
    the share of the information that the edge gives, and a factor near one, which trials with three open coordinates gave.
    """
    s = float(np.hypot(np.exp(shape[3]), layers.layers[0].blur))
    edge = EDGE_INFORMATION * 2.0 * np.pi * shape[2] * layers.share * amplitudes.face[0] / s
    return min(variance * min(edge * variance, 1.0) / s, 0.5 * float(np.sqrt(variance)))


def _climb(layers: HoleLayers, shape: Array, start: float) -> tuple[float, Array, Amplitudes] | None:
    """Likelihood, shape and amplitudes at the top, by turns: amplitudes, then one scoring step of the shape."""
    count = len(layers.layers)
    face = layers.density * np.array([1.0 if layer.part == "face" else 0.01 for layer in layers.layers])
    amplitudes = Amplitudes(face, np.full((2, SECTORS), 0.3 * layers.density), np.full(count, 0.01 * layers.density))
    for number in range(ROUNDS):
        rates = [layer_rates(layer, shape) for layer in layers.layers]
        for _ in range(6 if number == 0 else 2):
            amplitudes = next_amplitudes(layers, rates, amplitudes, shape[2])
        gradient, information = _shape_score(layers, rates, amplitudes, shape[2])
        gradient[3] -= (shape[3] - start) / NOISE_PRIOR**2
        information[3, 3] += 1.0 / NOISE_PRIOR**2
        step = np.linalg.solve(information + 1e-9 * np.trace(information) * np.eye(4), gradient)
        limit = 0.1 * shape[2]
        step *= min(1.0, limit / max(float(np.abs(step[:3]).max()), 1e-300), 0.3 / max(abs(float(step[3])), 1e-300))
        shape = shape + step
        if not (0.2 * shape[2] < layers.reach - shape[2]) or np.hypot(*shape[:2]) > 0.6 * layers.reach or shape[2] < 0.2:
            return None
        if np.abs(step[:3]).max() < 1e-4 * shape[2] and number > 5:
            break
    rates = [layer_rates(layer, shape) for layer in layers.layers]
    value = log_likelihood(layers, rates, amplitudes, shape[2]) - 0.5 * ((shape[3] - start) / NOISE_PRIOR) ** 2
    return value, shape, amplitudes


def _shape_score(layers: HoleLayers, rates: list[LayerRates], amplitudes: Amplitudes, radius: float) -> tuple[Array, Array]:
    gradient, information = np.zeros(4), np.zeros((4, 4))
    for i, (layer, rate) in enumerate(zip(layers.layers, rates, strict=True)):
        slopes = _slopes(layer.sectors, amplitudes.wall[wall_rows(layer)], amplitudes.face[i], rate)
        slopes /= total_rate(layer, rate, amplitudes, i)[:, None]
        weighted = slopes * layer.weights[:, None]
        gradient += weighted.sum(axis=0)
        gradient[2] -= _radius_pull(layers, layer.depth, amplitudes.face[i], amplitudes.wall[wall_rows(layer)], radius)
        information += weighted.T @ slopes
    return gradient, information


def _slopes(sectors: Array, wall: Array, face: float, rate: LayerRates) -> Array:
    return np.asarray(face * rate.face_slopes + wall[sectors][:, None] * rate.wall_slopes)


def _radius_pull(layers: HoleLayers, depth: float, face: float, wall: Array, radius: float) -> float:
    """Derivative of the rate's integral by the radius."""
    return float(2.0 * np.pi * (wall[layers.seen].sum() * depth / SECTORS - face * radius * layers.share))


def _doubt(
    layers: HoleLayers, rates: list[LayerRates], amplitudes: Amplitudes, radius: float, noise: float
) -> tuple[Array, Array]:
    """Covariance (3, 3) of center and radius with all amplitudes open, and the parts of the rim."""
    count = len(layers.layers)
    size = 4 + 2 * count + 2 * SECTORS
    information = np.zeros((size, size))
    pull, weight = np.zeros(SECTORS), np.zeros(SECTORS)
    for i, (layer, rate) in enumerate(zip(layers.layers, rates, strict=True)):
        row, n = wall_rows(layer), len(layer.away)
        slopes = np.zeros((n, size))
        wall = amplitudes.wall[row]
        slopes[:, :4] = _slopes(layer.sectors, wall, amplitudes.face[i], rate)
        slopes[:, 4 + i] = rate.face
        slopes[:, 4 + count + i] = 1.0
        slopes[np.arange(n), 4 + 2 * count + SECTORS * row + layer.sectors] = rate.wall
        slopes /= total_rate(layer, rate, amplitudes, i)[:, None]
        weighted = slopes * layer.weights[:, None]
        information += weighted.T @ slopes
        pull += np.bincount(layer.sectors, weighted[:, 2], SECTORS)
        whole = _radius_pull(layers, layer.depth, amplitudes.face[i], 0.0 * wall, radius) / max(np.count_nonzero(layers.seen), 1)
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
    return np.concatenate([amplitudes.face, amplitudes.stray, amplitudes.wall.ravel()]) ** 2
