# SPDX-License-Identifier: GPL-3.0-or-later
"""Regular places of bolt holes: on a pitch circle, in a row, at the corners of a rectangle."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array, Index


@dataclass(frozen=True, eq=False)
class HoleLayout:
    """order (n,) int : which hole is which place; start (p,) : rough parameters
    places : parameters to places (n, 2) and their derivatives (n, 2, p); spans : parameters to the sizes that a builder reads, mm
    """

    name: str
    order: Index
    start: Array
    places: Callable[[Array], tuple[Array, Array]]
    spans: Callable[[Array], tuple[float, ...]]


def hole_layouts(centers: Array) -> list[HoleLayout]:
    """The layouts that so many holes may have, the one with fewest parameters first. centers : (n, 2) float, mm"""
    count = len(centers)
    if count < 3:
        return []
    found = [_pitch_circle(centers), _row(centers)]
    return [*found, _rectangle(centers)] if count == 4 else found


def _pitch_circle(centers: Array) -> HoleLayout:
    """Even steps round a circle: center and the arm to the first hole."""
    order, middle, arms = _by_turn(centers)
    turn = 2.0 * np.pi * np.arange(len(centers)) / len(centers)
    cosine, sine = np.cos(turn), np.sin(turn)
    arm = np.array([cosine @ arms[:, 0] + sine @ arms[:, 1], cosine @ arms[:, 1] - sine @ arms[:, 0]]) / len(centers)
    slopes = _steps(np.stack([np.stack([cosine, -sine], axis=-1), np.stack([sine, cosine], axis=-1)], axis=1))
    return HoleLayout(
        "pitch circle", order, np.append(middle, arm), _linear(slopes), lambda p: (2.0 * float(np.hypot(p[2], p[3])),)
    )


def _row(centers: Array) -> HoleLayout:
    """Even steps along a line: middle and step."""
    middle = centers.mean(axis=0)
    along = np.linalg.svd(centers - middle)[2][0]
    order = np.argsort((centers - middle) @ along)
    place = np.arange(len(centers)) - 0.5 * (len(centers) - 1)
    step = place @ (centers[order] - middle) / (place @ place)
    slopes = _steps(place[:, None, None] * np.eye(2))
    return HoleLayout("row", order, np.append(middle, step), _linear(slopes), lambda p: (float(np.hypot(p[2], p[3])),))


def _rectangle(centers: Array) -> HoleLayout:
    """Corners in turn: middle, turn in radians, and half of both sides."""
    order, middle, arms = _by_turn(centers)
    side, up = 0.5 * (arms[0] + arms[3]), 0.5 * (arms[0] + arms[1])
    signs = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])
    start = np.array([*middle, np.arctan2(side[1], side[0]), np.hypot(*side), np.hypot(*up)])

    def places(parameters: Array) -> tuple[Array, Array]:
        cosine, sine = np.cos(parameters[2]), np.sin(parameters[2])
        axes = np.array([[cosine, sine], [-sine, cosine]])
        arms = (signs * parameters[3:]) @ axes
        slopes = np.zeros((4, 2, 5))
        slopes[:, :, :2] = np.eye(2)
        slopes[:, :, 2] = np.column_stack([-arms[:, 1], arms[:, 0]])
        slopes[:, :, 3:] = signs[:, None, :] * axes.T
        return parameters[:2] + arms, slopes

    return HoleLayout("rectangle", order, start, places, lambda p: (2.0 * abs(float(p[3])), 2.0 * abs(float(p[4]))))


def _by_turn(centers: Array) -> tuple[Index, Array, Array]:
    """Order about the middle, the middle, and the arms from it (n, 2) in that order."""
    middle = centers.mean(axis=0)
    arms = centers - middle
    order = np.argsort(np.arctan2(arms[:, 1], arms[:, 0]))
    return order, middle, arms[order]


def _steps(own: Array) -> Array:
    """Derivatives (n, 2, 4) by the middle and by the two parameters that own (n, 2, 2) belongs to."""
    return np.concatenate([np.broadcast_to(np.eye(2), own.shape), own], axis=2)


def _linear(slopes: Array) -> Callable[[Array], tuple[Array, Array]]:
    return lambda parameters: (slopes @ parameters, slopes)
