# SPDX-License-Identifier: GPL-3.0-or-later
"""The cross-section that a new cage starts from: one smooth curve from the crown to the side edge."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from .arrays import Array, frozen

_FULLNESS = np.linspace(0.5523, 0.95, 12)
"""Handle lengths over the way to the corner; 0.5523 draws a quarter circle within 0.03 % (closed form 4/3 (sqrt 2 - 1))."""

_SAMPLES = 401


@dataclass(frozen=True, eq=False)
class SeedSection:
    """Half a cross-section, by arc length: offset x >= 0 and drop below the crown, both mm."""

    fraction: Array
    offset: Array
    drop: Array

    def at(self, fraction: Array) -> tuple[Array, Array]:
        """(offset, drop) at fractions 0 (crown) to 1 (edge) of the arc length. fraction : any shape, float."""
        return np.interp(fraction, self.fraction, self.offset), np.interp(fraction, self.fraction, self.drop)


def seed_section(half_width: float, side_drop: float, least_excess: Callable[[SeedSection], float]) -> tuple[SeedSection, float]:
    """The slimmest section of the family that is clear, and its least excess; the clearest one if none is.

    half_width, side_drop : mm, where the side edge lies
    least_excess : least clearance above what is required for a section, mm; negative if it is not clear

    The family: a cubic Bezier curve, level at the crown, that leaves the edge at the angle of the circular arc through
    crown and edge or steeper. Longer handles fill the shoulder.
    """
    best: tuple[SeedSection, float] | None = None
    for section in _family(half_width, side_drop):
        excess = least_excess(section)
        if best is None or excess > best[1]:
            best = (section, excess)
        if excess >= 0.0:
            break
    assert best is not None
    return best


def _family(half_width: float, side_drop: float) -> Iterator[SeedSection]:
    natural = min(2.0 * np.arctan2(side_drop, half_width), 0.5 * np.pi)
    for angle in np.unique(np.concatenate([[natural], np.linspace(natural, 0.5 * np.pi, 5)])):
        for fullness in _FULLNESS:
            yield _bezier(half_width, side_drop, float(angle), float(fullness))


def _bezier(half_width: float, side_drop: float, angle: float, fullness: float) -> SeedSection:
    corner = half_width - side_drop / np.tan(angle) if angle < 0.5 * np.pi else half_width
    control = np.array(
        [
            [0.0, 0.0],
            [fullness * corner, 0.0],
            [half_width + fullness * (corner - half_width), side_drop * (1.0 - fullness)],
            [half_width, side_drop],
        ]
    )
    t = np.linspace(0.0, 1.0, _SAMPLES)[:, None]
    weights = np.hstack([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3])
    curve = weights @ control
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(curve, axis=0).T))])
    return SeedSection(frozen(length / length[-1]), frozen(curve[:, 0]), frozen(curve[:, 1]))
