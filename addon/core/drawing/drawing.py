# SPDX-License-Identifier: GPL-3.0-or-later
"""Line drawings in the plane, as data: for the overlay in the viewport and for paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, frozen


@dataclass(frozen=True, eq=False)
class Stroke:
    """A polyline. points : (n, 2) float, mm; width : of the line on paper, mm; dashed : for what is not to be cut or held

    measured : True for what is measured, and for what is held to measure it
    """

    points: Array
    width: float = 0.3
    dashed: bool = False
    measured: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen(np.asarray(self.points, dtype=np.float64).reshape(-1, 2)))


@dataclass(frozen=True, eq=False)
class Mark:
    """A text at a point (2,), mm; height : of capitals on paper, mm; anchor : which part of the text is at the point

    measured : True for the name of what is measured
    """

    text: str
    at: tuple[float, float]
    height: float = 3.0
    anchor: str = "center"
    measured: bool = False


@dataclass(frozen=True, eq=False)
class Drawing:
    """strokes and marks in mm, x to the right, y up. to_scale : True if it must come out 1:1; notes : sentences beside it"""

    name: str
    title: str
    strokes: tuple[Stroke, ...]
    marks: tuple[Mark, ...]
    notes: tuple[str, ...] = ()
    to_scale: bool = False

    @property
    def bounds(self) -> Array:
        """(2, 2) float, mm: least and greatest coordinates of all strokes and the points of all marks."""
        points = [stroke.points for stroke in self.strokes] + [np.array([mark.at]) for mark in self.marks]
        everything = np.concatenate(points)
        return np.stack([everything.min(axis=0), everything.max(axis=0)])


def circle(
    center: ArrayLike,
    radius: float,
    *,
    begin_deg: float = 0.0,
    end_deg: float = 360.0,
    width: float = 0.3,
    measured: bool = False,
) -> Stroke:
    """Arc or circle, counterclockwise from the x axis, chords under 0.02 mm off."""
    turn = np.radians(end_deg - begin_deg)
    # Multiples of four, so that a full circle is as wide and high as its diameter.
    steps = 4 * max(int(np.ceil(abs(turn) / (8.0 * np.sqrt(2.0 * 0.02 / max(radius, 0.02))))), 2)
    angle = np.radians(begin_deg) + np.linspace(0.0, turn, steps + 1)
    return Stroke(np.asarray(center) + radius * np.column_stack([np.cos(angle), np.sin(angle)]), width, measured=measured)


def cross(center: ArrayLike, reach: float) -> tuple[Stroke, Stroke]:
    """Two thin lines through a point."""
    middle = np.asarray(center, dtype=np.float64)
    across, up = (Stroke(middle + reach * np.array([[-a, -b], [a, b]]), 0.15) for a, b in ((1, 0), (0, 1)))
    return across, up


def dimension(
    begin: Sequence[float], end: Sequence[float], text: str, *, head: float = 4.0, aside: float = 4.0
) -> tuple[tuple[Stroke, ...], Mark]:
    """A dimension line with an arrow head at each end, and its text to the left of the way from begin to end.

    head : length of the heads; aside : how far the text stands off, mm
    """
    a, b = np.asarray(begin, dtype=np.float64), np.asarray(end, dtype=np.float64)
    along = (b - a) / np.hypot(*(b - a))
    left = np.array([-along[1], along[0]])
    heads = [
        Stroke(np.array([tip + head * (way + 0.35 * left), tip, tip + head * (way - 0.35 * left)]), 0.25, measured=True)
        for tip, way in ((a, along), (b, -along))
    ]
    x, y = (0.5 * (a + b) + aside * left).tolist()
    return (Stroke(np.array([a, b]), 0.25, measured=True), *heads), Mark(text, (x, y), measured=True)
