# SPDX-License-Identifier: GPL-3.0-or-later
"""The shapes that a fender takes when it is pushed, blown at, or swings, as a view shows them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..tables.strength.stiffness_rules import HAND_PUSH_N
from .fender_stiffness import FenderStiffness

SHOWN_MM = 25.0
"""The largest movement that is shown, about; small ones are enlarged to it."""
_STEPS = (1.0, 2.0, 5.0)
_ORDINALS = ("1st", "2nd", "3rd", "4th", "5th")


@dataclass(frozen=True, eq=False)
class BendShape:
    """name : of the shape, figure : how much of it, as a label says them; movement : (n, 3) float, mm, of the shell's points

    swings : True for a natural frequency, whose movement is 1 mm at most; times : how much larger it is shown
    """

    name: str
    figure: str
    movement: Array
    swings: bool
    times: float

    @property
    def most_mm(self) -> float:
        """The largest movement."""
        return float(np.linalg.norm(self.movement, axis=1).max())


def bend_shapes(part: FenderStiffness, speed_kmh: float | None) -> tuple[BendShape, ...]:
    """Both tips pushed, the wind at a speed, and the lowest natural frequencies."""
    shapes = [
        _shape(f"{tip.name.title()} Tip, {HAND_PUSH_N:g} N", f"{tip.mm:.1f} mm", tip.movement, swings=False) for tip in part.tips
    ]
    if part.drag is not None and part.drag_mm is not None:
        shapes.append(_shape(f"Wind, {speed_kmh:g} km/h", f"{part.drag_mm:.1f} mm", part.drag, swings=False))
    for ordinal, hertz, shape in zip(_ORDINALS, part.modes.frequencies_hz, part.modes.shapes, strict=False):
        shapes.append(_shape(f"{ordinal} Natural Frequency", f"{hertz:.0f} Hz", shape, swings=True))
    return tuple(shapes)


def _shape(name: str, figure: str, movement: Array, *, swings: bool) -> BendShape:
    moved = movement[:, :3]
    most = max(float(np.linalg.norm(moved, axis=1).max()), 1e-9)
    times = SHOWN_MM / most
    if not swings:
        power = 10.0 ** np.floor(np.log10(times))
        times = max(1.0, float(power * max(step for step in _STEPS if step * power <= times * (1.0 + 1e-9))))
    return BendShape(name, figure, moved, swings, times)
