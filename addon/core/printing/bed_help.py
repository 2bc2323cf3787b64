# SPDX-License-Identifier: GPL-3.0-or-later
"""What would keep a half in one piece: a larger bed, or an end that is nearer to the mount."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..base.arrays import Array
from ..base.wheel_axes import station_of
from .print_fit import print_fit

_BED_STEP, _MOST_BED = 10.0, 600.0
_STEPS = 5
"""Halvings of the way between an end that does not fit and the mount."""


def bed_help(points: Array, bed: tuple[float, float, float], margin: float, mount_station: float) -> str:
    """A sentence's end such as "a bed of 240 mm or an end at -46 deg would keep it in one piece"; "" where neither does.

    points : (n, 3) float, mm, wheel axes, of a half that does not fit; bed, margin : in the piece's own size, mm
    mount_station : degrees, where the cut through the bolts is
    """
    ways = [way for way in (_larger_bed(points, bed, margin), _nearer_end(points, bed, margin, mount_station)) if way]
    return f"{' or '.join(ways)} would keep it in one piece" if ways else ""


def _larger_bed(points: Array, bed: tuple[float, float, float], margin: float) -> str:
    first = (np.floor(min(bed[:2]) / _BED_STEP) + 1.0) * _BED_STEP
    sides = np.arange(first, _MOST_BED + 0.5 * _BED_STEP, _BED_STEP)

    def fits(i: int) -> bool:
        side = float(sides[i])
        return print_fit(points, (max(bed[0], side), max(bed[1], side), max(bed[2], side)), margin).fits

    found = _first(fits, len(sides))
    return "" if found is None else f"a bed of {sides[found]:.0f} mm"


def _nearer_end(points: Array, bed: tuple[float, float, float], margin: float, mount_station: float) -> str:
    stations = station_of(points)
    far = float(stations[np.abs(stations - mount_station).argmax()])
    ends = np.linspace(far, mount_station, 2**_STEPS + 1)[1:-1]

    def fits(i: int) -> bool:
        kept = points[np.abs(stations - mount_station) <= abs(float(ends[i]) - mount_station)]
        return len(kept) > 3 and print_fit(kept, bed, margin).fits

    found = _first(fits, len(ends))
    return "" if found is None else f"an end at {ends[found]:+.0f} deg"


def _first(fits: Callable[[int], bool], count: int) -> int | None:
    """The first of count ever easier trials that fits, by halving; None if the last one does not."""
    if count == 0 or not fits(count - 1):
        return None
    low, high = -1, count - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    return high
