# SPDX-License-Identifier: GPL-3.0-or-later
"""How likely the points about a hole are: an even face that ends at a rim, a wall below it, stray points, and noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array, Index
from .hole_layers import SECTORS, HoleLayer, HoleLayers

# Points are taken as an inhomogeneous Poisson process (Daley and Vere-Jones, An Introduction to the Theory of Point Processes,
# vol. I, 2003, 7.1): log L = sum of log rate at the points less the integral of the rate over the window. The rate of a layer at
# the distance d from the center is a Phi((d - r) / s), the face with noise, + w h n((d - r) / s) / s, its wall, + b, strays.


@dataclass(frozen=True, eq=False)
class Amplitudes:
    """Points per mm2. face, stray : (layers,); wall : (2, SECTORS), of the wall at the top and further down"""

    face: Array
    wall: Array
    stray: Array


@dataclass(frozen=True, eq=False)
class LayerRates:
    """Of one layer, at its points (n,): the rates of the parts for an amplitude of one, and the derivatives (n, 4) of face and
    wall by the center's two coordinates, the radius, and the logarithm of the noise."""

    face: Array
    wall: Array
    face_slopes: Array
    wall_slopes: Array


def normal_cdf(x: Array) -> Array:
    """Probability (n,) that a standard normal value is below x; error under 1e-7.

    Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 7.1.26.
    """
    size = np.abs(x) / np.sqrt(2.0)
    t = 1.0 / (1.0 + 0.3275911 * size)
    poly = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    tail = 0.5 * poly * np.exp(-(size**2))
    return np.asarray(np.where(x > 0.0, 1.0 - tail, tail))


def normal_density(x: Array) -> Array:
    """Density (n,) of the standard normal law."""
    return np.asarray(np.exp(-0.5 * x**2) / np.sqrt(2.0 * np.pi))


def layer_rates(layer: HoleLayer, shape: Array) -> LayerRates:
    """Rates and slopes of a layer for shape (4,): center x, y, radius, logarithm of the noise."""
    away = layer.away - shape[:2]
    d = np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-9)
    outward = away / d[:, None]
    radius, own = shape[2], np.exp(shape[3])
    s = float(np.hypot(own, layer.blur))
    share = own**2 / s**2  # derivative of log s by the logarithm of the noise
    q = (d - radius) / s
    bent = q + 0.5 * s / d  # a curved rim: the noise along it moves points outward
    bell = normal_density(bent) / s
    face = normal_cdf(bent)
    face_slopes = np.column_stack([-outward * bell[:, None], -bell, share * bell * s * (0.5 * s / d - q)])
    wall = np.sqrt(radius / d) * normal_density(q) / s
    along = wall * (-q / s - 0.5 / d)
    wall_slopes = np.column_stack([-outward * along[:, None], wall * (q / s + 0.5 / radius), share * wall * (q**2 - 1.0)])
    return LayerRates(face, layer.depth * wall, face_slopes, layer.depth * wall_slopes)


def wall_rows(layer: HoleLayer) -> int:
    return 1 if layer.part == "lower" else 0


def total_rate(layer: HoleLayer, rates: LayerRates, amplitudes: Amplitudes, i: int) -> Array:
    """Rate (n,) at the points of layer i."""
    wall = amplitudes.wall[wall_rows(layer)][layer.sectors]
    return np.asarray(amplitudes.face[i] * rates.face + wall * rates.wall + amplitudes.stray[i])


def integrals(layers: HoleLayers, layer: HoleLayer, radius: float) -> tuple[float, float, float]:
    """Integrals of face, wall of one sector, and strays over the window, for amplitudes of one. Noise keeps areas."""
    window = np.pi * layers.reach**2 * layers.share
    return window - np.pi * radius**2 * layers.share, layer.depth * 2.0 * np.pi * radius / SECTORS, window


def next_amplitudes(layers: HoleLayers, rates: list[LayerRates], amplitudes: Amplitudes, radius: float) -> Amplitudes:
    """One step of expectation and maximization: Dempster, Laird and Rubin, J. Royal Statist. Soc. B 39 (1977) 1."""
    face, stray = amplitudes.face.copy(), amplitudes.stray.copy()
    wall, room = np.zeros((2, SECTORS)), np.zeros((2, SECTORS))
    for i, (layer, rate) in enumerate(zip(layers.layers, rates, strict=True)):
        row = wall_rows(layer)
        share = layer.weights / total_rate(layer, rate, amplitudes, i)
        whole = integrals(layers, layer, radius)
        face[i] *= float(share @ rate.face) / max(whole[0], 1e-9)
        stray[i] = max(stray[i] * float(share.sum()) / whole[2], 1e-4 / whole[2])
        if (
            layer.part != "face"
        ):  # at the rim a wall looks like a smaller hole: only below the face its points are told from the face's
            wall[row] += np.bincount(layer.sectors, share * rate.wall * amplitudes.wall[row][layer.sectors], SECTORS)
            room[row] += whole[1] * layers.seen
    return Amplitudes(face, wall / np.maximum(room, 1e-9), stray)


def log_likelihood(layers: HoleLayers, rates: list[LayerRates], amplitudes: Amplitudes, radius: float) -> float:
    total = 0.0
    for i, (layer, rate) in enumerate(zip(layers.layers, rates, strict=True)):
        whole = integrals(layers, layer, radius)
        total += float(layer.weights @ np.log(total_rate(layer, rate, amplitudes, i)))
        total -= float(amplitudes.face[i] * whole[0] + amplitudes.stray[i] * whole[2])
        total -= float(amplitudes.wall[wall_rows(layer)][layers.seen].sum()) * whole[1]
    return total


def face_gain(layers: HoleLayers, rates: LayerRates, amplitudes: Amplitudes, radius: float) -> float:
    """Logarithm of the likelihood of the first layer's points over that of points spread evenly over the window."""
    layer = layers.layers[0]
    whole, count = integrals(layers, layer, radius), float(layer.weights.sum())
    own = float(layer.weights @ np.log(total_rate(layer, rates, amplitudes, 0)))
    own -= float(amplitudes.face[0] * whole[0] + amplitudes.stray[0] * whole[2])
    own -= float(amplitudes.wall[wall_rows(layer)][layers.seen].sum()) * whole[1]
    return own - (count * float(np.log(max(count, 1e-9) / whole[2])) - count)


def shape_slopes(sectors: Index, wall: Array, face: float, rate: LayerRates) -> Array:
    """Derivatives (n, 4) of the rate by the shape, for the amplitudes of wall (SECTORS,) and face."""
    return np.asarray(face * rate.face_slopes + wall[sectors][:, None] * rate.wall_slopes)


def radius_pull(layers: HoleLayers, depth: float, face: float, wall: Array, radius: float) -> float:
    """Derivative of the rate's integral by the radius."""
    return float(2.0 * np.pi * (wall[layers.seen].sum() * depth / SECTORS - face * radius * layers.share))
