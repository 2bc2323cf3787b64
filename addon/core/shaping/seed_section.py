# SPDX-License-Identifier: GPL-3.0-or-later
"""The cross-section that a new cage starts from: a convex row of cage points, whose skin therefore does not wave."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, frozen

_FULLEST = 0.97
_FULLNESSES = 14
_CURVE_SAMPLES = 201
_SKIN_STEPS = 16


@dataclass(frozen=True, eq=False)
class SeedSection:
    """Half a cross-section.

    cage, skin : (n, 2) float, mm, offset x >= 0 and drop below the crown, from the crown outward
    """

    cage: Array
    skin: Array


def seed_section(
    half_width: float,
    side_drop: float,
    columns: int,
    seat: tuple[float, float],
    least_excess: Callable[[SeedSection], float],
) -> SeedSection:
    """The roundest section of the family that is clear and flat enough to bear the seat; the best one if none is.

    half_width, side_drop : mm, where the side edge lies; columns : cage points of the half, crown and edge included
    seat : (half width, most drop there), mm
    least_excess : least clearance above what is required for a section, mm; negative if it is not clear

    The family: cage points on a cubic Bezier curve that is level at the crown and leaves the edge at the angle of the
    circular arc through crown and edge or steeper. Longer handles fill the shoulder and flatten the crown.
    """
    best: SeedSection | None = None
    least = np.inf
    for curve in _family(half_width, side_drop):
        section = _section(curve, columns, seat[0])
        sag = float(np.interp(seat[0], section.skin[:, 0], section.skin[:, 1]))
        missing = max(-least_excess(section), 0.0) + max(sag - seat[1], 0.0)
        if missing < least:
            best, least = section, missing
        if missing == 0.0:
            break
    assert best is not None
    return best


def spread(low: float, high: float, wanted: Sequence[float], count: int) -> Array:
    """count places from low to high: both ends, then the wanted ones as far as they are inside, then the widest gaps halved."""
    places = [low, high]
    room = _LEAST_GAP * (high - low)
    for place in wanted:
        if len(places) < count and low + room < place < high - room:
            places.append(place)
    while len(places) < count:
        places.sort()
        widest = int(np.argmax(np.diff(places)))
        places.append(0.5 * (places[widest] + places[widest + 1]))
    return np.sort(np.array(places))


_LEAST_GAP = 0.06
_COLUMN_BESIDE_SEAT = 1.1


def _family(half_width: float, side_drop: float) -> Iterator[Array]:
    natural = min(2.0 * np.arctan2(side_drop, half_width), 0.5 * np.pi)
    for angle in np.unique(np.concatenate([[natural], np.linspace(natural, 0.5 * np.pi, 5)])):
        # handles over the way to the corner that draw a circular arc: 4/3 tan(angle / 4), over tan(angle / 2)
        roundest = 4.0 / 3.0 * np.tan(0.25 * angle) / np.tan(0.5 * angle) if angle > 0.0 else 2.0 / 3.0
        for fullness in np.linspace(roundest, _FULLEST, _FULLNESSES):
            yield _bezier(half_width, side_drop, float(angle), float(fullness))


def _bezier(half_width: float, side_drop: float, angle: float, fullness: float) -> Array:
    """(n, 2) points of the curve, offset and drop."""
    corner = half_width - side_drop / np.tan(angle) if 0.0 < angle < 0.5 * np.pi else half_width
    control = np.array(
        [
            [0.0, 0.0],
            [fullness * corner, 0.0],
            [half_width + fullness * (corner - half_width), side_drop * (1.0 - fullness)],
            [half_width, side_drop],
        ]
    )
    t = np.linspace(0.0, 1.0, _CURVE_SAMPLES)[:, None]
    return np.asarray(np.hstack([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3]) @ control)


def _section(curve: Array, columns: int, seat_half_width: float) -> SeedSection:
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(curve, axis=0).T))])
    share = length / length[-1]
    beside_seat = float(np.interp(_COLUMN_BESIDE_SEAT * seat_half_width, curve[:, 0], share))
    places = spread(0.0, 1.0, [beside_seat], columns)
    cage = np.stack([np.interp(places, share, curve[:, axis]) for axis in (0, 1)], axis=1)
    # the skin's crown lies under the cage's: raise the cage, the edge stays
    sag = (2.0 * cage[1, 1] + 4.0 * cage[0, 1]) / 6.0
    cage[:, 1] = (cage[:, 1] - sag) * (cage[-1, 1] / (cage[-1, 1] - sag)) if cage[-1, 1] > sag else cage[:, 1]
    return SeedSection(frozen(cage), frozen(_spline(cage)))


def _spline(cage: Array) -> Array:
    """The uniform cubic B-spline of the half's points: mirrored at the crown, ending in the last point, as the skin does."""
    row = np.vstack([cage[1] * [-1.0, 1.0], cage, 2.0 * cage[-1] - cage[-2]])
    t = np.linspace(0.0, 1.0, _SKIN_STEPS, endpoint=False)[:, None]
    weights = np.hstack([(1 - t) ** 3, 3 * t**3 - 6 * t**2 + 4, -3 * t**3 + 3 * t**2 + 3 * t + 1, t**3]) / 6.0
    pieces = [weights @ row[i : i + 4] for i in range(len(cage) - 1)]
    return np.vstack([*pieces, cage[-1:]])
