# SPDX-License-Identifier: GPL-3.0-or-later
"""What lines up the pieces at a joint, besides bolts: pins or keys, by the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Mask
from ..job.job_sheet import Split
from ..seat.placed_seat import PlacedSeat
from ..wall.closed_wall import ClosedWall
from .dowel_pins import Pin, dowel_pins
from .joint import Joint
from .joint_keys import Key, joint_keys


@dataclass(frozen=True)
class Locators:
    """Pins and keys of a joint."""

    pins: tuple[Pin, ...] = ()
    keys: tuple[Key, ...] = ()

    @property
    def places(self) -> Array:
        """(n, 3) float, mm, where they stand."""
        return np.array([*(pin.start for pin in self.pins), *(key.place for key in self.keys)]).reshape(-1, 3)


def locators(
    split: Split, wall: ClosedWall, joint: Joint, seats: Sequence[PlacedSeat], here: Mask | None = None, further: bool = False
) -> Locators:
    """What the sheet asks for at a joint.

    seats : all of the fender; here : (n,) bool, points of the wall that the joint may use, all if None
    further : True for a cut without bolts, which gets pins where the sheet asks for bolts only
    Raises JobError where there is no room for it.
    """
    if joint.reach > 0.0:
        return Locators(keys=joint_keys(wall, joint, seats, here))
    pinned = split.locate == "pins" or (further and split.locate == "bolts")
    if pinned and joint.half_length > 0.0 and split.pin > 0.0:
        return Locators(pins=dowel_pins(wall, joint, split.pin, seats, here))
    return Locators()
