# SPDX-License-Identifier: GPL-3.0-or-later
"""Tangent and curvature along a line of points in the plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array

_SPAN_MM = 12.0
_POINTS = 3.0
"""Curvature is that of a circle through places so far apart along the line: enough that rounding of points does not count; and over
at least so many points, since a line of few points is a row of chords."""


@dataclass(frozen=True, eq=False)
class LineShape:
    """points : (n, 2) float, mm; along : (n,) float, mm from the first; tangents : (n, 2) float, unit

    curvature : (n,) float, 1/mm, positive where the line turns to the left on its way
    """

    points: Array
    along: Array
    tangents: Array
    curvature: Array


def line_shape(points: Array, span: float = _SPAN_MM) -> LineShape:
    """Tangents and curvature of a line, (n, 2) float, mm, at its points.

    At each point the circle through the line's places a span before and behind it (less at the ends, where its middle is taken),
    so that points that lie closer do not matter. Curvature of three points: 4 areas over the product of the sides (Menger).
    Raises ValueError if the line has no length.
    """
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    if not along[-1] > 0.0:
        raise ValueError("points: all in one place, a line needs a length")
    reach = min(max(span, _POINTS * float(along[-1]) / (len(points) - 1)), 0.25 * float(along[-1]))
    middle = np.clip(along, reach, along[-1] - reach)
    before, here, after = (_at(points, along, place) for place in (middle - reach, middle, middle + reach))
    first, second, whole = here - before, after - here, after - before
    area = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    sides = np.linalg.norm(first, axis=1) * np.linalg.norm(second, axis=1) * np.linalg.norm(whole, axis=1)
    curvature = 2.0 * area / np.where(sides > 0.0, sides, 1.0)
    # the chord has the direction of the circle at its middle; at the ends it is turned by what is left
    turn = curvature * (along - middle)
    size = np.linalg.norm(whole, axis=1, keepdims=True)
    chord = whole / np.where(size > 0.0, size, 1.0)
    cosine, sine = np.cos(turn), np.sin(turn)
    tangents = np.column_stack([cosine * chord[:, 0] - sine * chord[:, 1], sine * chord[:, 0] + cosine * chord[:, 1]])
    return LineShape(points, along, tangents, curvature)


def _at(points: Array, along: Array, places: Array) -> Array:
    return np.column_stack([np.interp(places, along, points[:, axis]) for axis in (0, 1)])
