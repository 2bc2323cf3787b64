# SPDX-License-Identifier: GPL-3.0-or-later
"""Dowel pins through a lap, square to the wall."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Mask, frozen
from ..base.errors import JobError
from ..mesh.prism import prism
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.placed_seat import PlacedSeat
from ..wall.closed_wall import ClosedWall
from .joint import Joint
from .joint_places import Footprint, JointPlace, joint_places

EDGE_DIAMETERS = 2.0
"""From a pin's axis to any edge, in diameters of its hole: the rule for plain fasteners in sheet; common practice, no source."""

_SIDES = 32
_PAST_FACE = 1.0


@dataclass(frozen=True, eq=False)
class Pin:
    """start, end : (3,) float, mm, on the inner and the outer face; diameter : of the pin; fit : by which its hole is wider, mm"""

    start: Array
    end: Array
    diameter: float
    fit: float

    @property
    def length(self) -> float:
        """mm, cut flush."""
        return float(np.linalg.norm(self.end - self.start))

    @property
    def body(self) -> TriangleMesh:
        """The pin itself, closed."""
        return prism(self.start, self.end, 0.5 * self.diameter, _SIDES)

    @property
    def hole(self) -> TriangleMesh:
        """The cutter of its hole, closed."""
        past = _PAST_FACE / self.length * (self.end - self.start)
        return prism(self.start - past, self.end + past, 0.5 * (self.diameter + self.fit), _SIDES)


def dowel_pins(
    wall: ClosedWall, joint: Joint, diameter: float, seats: Sequence[PlacedSeat], here: Mask | None = None
) -> tuple[Pin, ...]:
    """The pins of a lap, on its middle, evenly spaced over each free stretch.

    diameter : of a pin, mm; its hole is wider by the fit; here : (n,) bool, points of the wall that may be drilled, all if None
    Raises JobError if the lap or the fender is too narrow for two.
    """
    hole = diameter + joint.fit
    needed = EDGE_DIAMETERS * hole
    lap = 2.0 * joint.half_length - joint.fit
    if 0.5 * lap < needed:
        raise JobError(
            "split.pin",
            f"{diameter:g} needs {needed:.1f} mm from its axis to the ends of the lap, which is {lap:.1f} mm long; allowed is "
            f"{max(0.25 * lap - joint.fit, 0.0):.1f} or less, or a longer split.lap",
        )
    footprint = Footprint(half_width=0.0, low=0.0, high=0.0, edge=needed, bolt=0.5 * hole, apart=needed)
    places = [place for stretch in joint_places(wall, joint, seats, footprint, here) for place in stretch]
    if len(places) < 2:
        raise JobError(
            "split.pin",
            f"{diameter:g} finds room at {len(places)} places of the joint between the {joint.names[0]} and the {joint.names[1]} piece, "
            f"at least 2 are needed; allowed are places {needed:.1f} mm off edges and openings, off seats and the edge distance of "
            "bolts: use a thinner pin or a wider fender",
            joint.point,
        )
    return tuple(_pin(place, diameter, joint.fit) for place in places)


def _pin(place: JointPlace, diameter: float, fit: float) -> Pin:
    return Pin(frozen(place.point - place.half), frozen(place.point + place.half), diameter, fit)
