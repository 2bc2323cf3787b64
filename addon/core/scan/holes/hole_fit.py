# SPDX-License-Identifier: GPL-3.0-or-later
"""A hole's circle from the points of its rim and wall, by greatest likelihood."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...base.arrays import Array
from .hole_doubt import EDGE_INFORMATION, NOISE_PRIOR, hole_doubt
from .hole_layers import SECTORS, HoleLayers, hole_layers
from .hole_likelihood import (
    Amplitudes,
    LayerRates,
    face_gain,
    layer_rates,
    log_likelihood,
    next_amplitudes,
    radius_pull,
    shape_slopes,
    total_rate,
    wall_rows,
)

ROUNDS = 60
HALVINGS = 8
"""How often a step is halved until it leads upward."""
WIDE = 0.04
"""Of the radius: noise to begin with, so that points without noise, whose likelihood is a spike, draw from afar."""
FIRST_STARTS = (0.9, 1.05, 1.2)
"""Of the rough radius, from which the likelihood is climbed; noise and wall make that too small."""
OUT_OF_NOISE = 2.0
"""Over the noise of the face: points that stray further from the circle than this leave the radius as doubtful as they stray."""
CORNERS = 2.24
"""How far the corners of a polygon stand outside of its mean circle, over the root mean square of its distance from that:
(2 / 3) / sqrt(4 / 45) for a chord's parabola."""
REACH = 1.7
"""Radius of the window about a hole over that of the hole; 4 standard deviations of the noise are added."""


@dataclass(frozen=True, eq=False)
class HoleFit:
    """center (2,), radius, mm; covariance (3, 3) of center and radius; noise : mm; parts : (SECTORS, 2) for each sector how far
        the rim lies outside of the circle, mm, and the standard deviation of that, infinite where nothing is seen
    gain : logarithm of the likelihood of the face's points with this hole over that of an even face
    """

    center: Array
    radius: float
    covariance: Array
    noise: float
    parts: Array
    gain: float


def fit_hole(points: Array, center: Array, radius: float, sigma: float) -> HoleFit | None:
    """The circle of a hole that is roughly known; None if too little face is seen about it or the fit runs away.

    points : (n, 3) float, mm, in the face's plane and out of it; sigma : their noise out of the plane, mm
    Of a beveled hole it is the circle of the wall, as far as that is seen: the bevel's few points count as stray ones.
    """
    spot, size = np.array(center, dtype=np.float64), float(radius)
    fit: HoleFit | None = None
    for starts in (FIRST_STARTS, (1.0,), (1.0,)):
        layers = hole_layers(points, spot, size, sigma, REACH * size + 4.0 * sigma)
        own = None if layers is None else _fitted(layers, size, sigma, starts)
        if layers is None or own is None:
            return None
        fit = replace(own, center=spot + own.center)
        settled = np.hypot(*own.center) < 0.1 * own.radius and abs(own.radius - size) < 0.05 * own.radius
        spot, size = spot + own.center, own.radius
        if settled:
            break
    return fit


def _fitted(layers: HoleLayers, radius: float, sigma: float, starts: tuple[float, ...]) -> HoleFit | None:
    start = np.log(max(sigma, 0.02 * layers.layers[0].blur, 1e-3))
    best: tuple[float, Array, Amplitudes] | None = None
    for factor in starts:
        found = _climb(layers, np.array([0.0, 0.0, factor * radius, max(start, float(np.log(WIDE * radius)))]), start)
        if found is not None and (best is None or found[0] > best[0]):
            best = found
    if best is None:
        return None
    _, shape, amplitudes = best
    rates = [layer_rates(layer, shape) for layer in layers.layers]
    covariance, parts = hole_doubt(layers, rates, amplitudes, shape[2], float(np.exp(shape[3])))
    noise = float(np.exp(shape[3]))
    if noise > OUT_OF_NOISE * np.exp(start):  # more than noise: facets of a mesh, a rounded edge
        covariance[2, 2] += (CORNERS * noise) ** 2
    gain = face_gain(layers, rates[0], amplitudes, float(shape[2]))
    radius = float(shape[2]) - _edge_bias(layers, amplitudes, shape, float(covariance[2, 2]))
    return HoleFit(shape[:2], radius, covariance, noise, parts, gain)


def _edge_bias(layers: HoleLayers, amplitudes: Amplitudes, shape: Array, variance: float) -> float:
    """By how much the greatest likelihood puts an edge too far into its points, mm, to first order.

    Cox and Snell, J. Royal Statist. Soc. B 30 (1968) 248, for the edge Phi(u / s) of evenly spread points: variance / s times
    the share of the information that the edge gives, and a factor near one, which trials with three open coordinates gave.
    """
    s = float(np.hypot(np.exp(shape[3]), layers.layers[0].blur))
    edge = float(EDGE_INFORMATION * 2.0 * np.pi * shape[2] * layers.share * amplitudes.face[0] / s)
    return min(variance * min(edge * variance, 1.0) / s, 0.5 * float(np.sqrt(variance)))


def _climb(layers: HoleLayers, shape: Array, start: float) -> tuple[float, Array, Amplitudes] | None:
    """Likelihood, shape and amplitudes at the top, by turns: amplitudes, then one scoring step of the shape."""
    count = len(layers.layers)
    face = layers.density * np.array([1.0 if layer.part == "face" else 0.01 for layer in layers.layers])
    amplitudes = Amplitudes(face, np.full((2, SECTORS), 0.3 * layers.density), np.full(count, 0.01 * layers.density))
    value = -np.inf
    for number in range(ROUNDS):
        rates = [layer_rates(layer, shape) for layer in layers.layers]
        for _ in range(6 if number == 0 else 2):
            amplitudes = next_amplitudes(layers, rates, amplitudes, shape[2])
        value = _height(layers, rates, amplitudes, shape, start)
        gradient, information = _shape_score(layers, rates, amplitudes, shape[2])
        gradient[3] -= (shape[3] - start) / NOISE_PRIOR**2
        information[3, 3] += 1.0 / NOISE_PRIOR**2
        step = np.linalg.solve(information + 1e-9 * np.trace(information) * np.eye(4), gradient)
        limit = 0.1 * shape[2]
        step *= min(1.0, limit / max(float(np.abs(step[:3]).max()), 1e-300), 0.3 / max(abs(float(step[3])), 1e-300))
        # only upward: a step too long would swing about the top, and where it ends would hang on rounding
        for _ in range(HALVINGS):
            tried = [layer_rates(layer, shape + step) for layer in layers.layers] if shape[2] + step[2] > 0.0 else None
            if tried is not None and _height(layers, tried, amplitudes, shape + step, start) >= value:
                break
            step *= 0.5
        else:
            break
        shape = shape + step
        if not (0.2 * shape[2] < layers.reach - shape[2]) or np.hypot(*shape[:2]) > 0.6 * layers.reach or shape[2] < 0.2:
            return None
        if np.abs(step[:3]).max() < 2e-4 * shape[2] and number > 5:
            break
    return value, shape, amplitudes


def _height(layers: HoleLayers, rates: list[LayerRates], amplitudes: Amplitudes, shape: Array, start: float) -> float:
    """Logarithm of the likelihood of a shape and amplitudes, and of what is known of the noise before."""
    return log_likelihood(layers, rates, amplitudes, shape[2]) - 0.5 * float((shape[3] - start) / NOISE_PRIOR) ** 2


def _shape_score(layers: HoleLayers, rates: list[LayerRates], amplitudes: Amplitudes, radius: float) -> tuple[Array, Array]:
    gradient, information = np.zeros(4), np.zeros((4, 4))
    for i, (layer, rate) in enumerate(zip(layers.layers, rates, strict=True)):
        slopes = shape_slopes(layer.sectors, amplitudes.wall[wall_rows(layer)], amplitudes.face[i], rate)
        slopes /= total_rate(layer, rate, amplitudes, i)[:, None]
        weighted = slopes * layer.weights[:, None]
        gradient += weighted.sum(axis=0)
        gradient[2] -= radius_pull(layers, layer.depth, amplitudes.face[i], amplitudes.wall[wall_rows(layer)], radius)
        information += weighted.T @ slopes
    return gradient, information
