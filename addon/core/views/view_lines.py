# SPDX-License-Identifier: GPL-3.0-or-later
"""What a section or side view is made of."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

from ..base.arrays import Array


class Role(Enum):
    """What a line of a view stands for."""

    TIRE = "tire"
    ENVELOPE = "tire at its largest"
    REQUIRED = "least allowed"
    OUTER = "outer face"
    INNER = "inner face"
    MOUNT = "mount face"
    STATION = "section"


@dataclass(frozen=True, eq=False)
class ViewLine:
    """A polyline of a view. points : (n, 2) float, mm"""

    role: Role
    points: Array


@dataclass(frozen=True, eq=False)
class Gap:
    """Distance from the inner face to the tire at its largest.

    place : where on the fender; mm : the distance; at, foot : (2,) float, mm in the view, its two ends
    """

    place: str
    mm: float
    at: Array
    foot: Array


def upper_part(line: Array, low: float) -> Array:
    """The part of a polyline from where it first comes to the height low to where it last leaves it, ends cut exactly.

    line : (n, 2) float; returns (m, 2), none if the line does not come up to low.
    """
    above = np.flatnonzero(line[:, 1] >= low)
    if len(above) == 0:
        return line[:0]
    first, last = int(above[0]), int(above[-1])
    parts = [line[first : last + 1]]
    if first > 0:
        parts.insert(0, _crossing(line[first - 1], line[first], low))
    if last < len(line) - 1:
        parts.append(_crossing(line[last], line[last + 1], low))
    return np.concatenate(parts)


def _crossing(a: Array, b: Array, low: float) -> Array:
    share = (low - a[1]) / (b[1] - a[1])
    return np.asarray((a + share * (b - a))[None, :])
