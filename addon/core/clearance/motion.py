# SPDX-License-Identifier: GPL-3.0-or-later
"""How tire and keep-outs move against the fender: suspension travel and steering, by what carries each of them.

Parts of a bike in their order: the frame ("chassis"), what steers with it ("steering"), what travels too ("wheel"). Along a
telescopic fork travel runs parallel to the steering axis, so that travel and steering may be taken in either order.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ..base.arrays import Array
from ..base.rotation import turned
from ..bodies.axle_places import ArcPlaces, AxlePlaces, HullPlaces
from ..bodies.body import Body
from ..bodies.half_space import HalfSpace
from ..bodies.meridian_body import MeridianBody
from ..bodies.moved_wheel import MovedWheel
from ..bodies.rotation_sweep import RotationSweep
from ..bodies.swept import Swept
from ..job.job_sheet import Job
from .bike_geometry import SteeringAxis, Swingarm, steering_axis, swingarm

_ORDER = {"chassis": 0, "steering": 1, "wheel": 2}
_CARRIED_WITH = {"axle": "wheel", "steering": "steering", "frame": "chassis"}
_X = np.array([1.0, 0.0, 0.0])
_UPRIGHT = SteeringAxis(np.zeros(3), np.array([0.0, 0.0, 1.0]), 0.0, 0.0)
"""Along which a rear wheel travels, of whose swingarm nothing is known."""


@dataclass(frozen=True)
class Pose:
    """travel_mm : of the wheel, up from where the bike was measured; steering_deg : positive to the left"""

    travel_mm: float = 0.0
    steering_deg: float = 0.0


@dataclass(frozen=True, eq=False)
class Motion:
    """How a part of the bike moves as the fender sees it.

    slides : 1 if it travels as the wheel does, -1 if the fender does and it does not, 0 if both or neither do; steers : the same
    travel_mm : least and most; lock_deg : least (right, negative) and most (left); (0, 0) where not stated
    axis : of the steering, and direction of a fork's travel; arm : None for a fork, or where nothing is known of a swingarm
    """

    slides: int
    steers: int
    travel_mm: tuple[float, float]
    lock_deg: tuple[float, float]
    axis: SteeringAxis
    arm: Swingarm | None

    @property
    def travels(self) -> bool:
        return self.slides != 0 and self.travel_mm[0] < self.travel_mm[1]

    @property
    def turns(self) -> bool:
        return self.steers != 0 and self.lock_deg[0] < self.lock_deg[1]

    @property
    def moves(self) -> bool:
        """True if it has more than one place."""
        return self.travels or self.turns

    def still(self) -> Motion:
        """The same without travel and steering."""
        return replace(self, slides=0, steers=0)

    def sweep(self, body: Body) -> Body:
        """A body of this part at all its places. Straight travel is exact, a turn is within RotationSweep's error."""
        if self.travels and self.arm is not None:
            return RotationSweep(body, self.arm.pivot, *self._arm_turns(), axis=_X)
        if self.travels:
            low, high = (self._slide(mm) for mm in self.travel_mm)
            body = _slid(body, low, high)
        return self._steered(body)

    def sweep_wheel(self, wheel: MeridianBody, slot: tuple[float, float]) -> Body:
        """The wheel at all its places. slot : mm that the axle moves forward and rearward of where it was measured"""
        if not self.moves and slot == (0.0, 0.0):
            return wheel
        return self._steered(MovedWheel(wheel, self._axle_places(slot)))

    def placement(self, pose: Pose) -> Array:
        """(4, 4) from where the part was measured to where it is at a pose, as the fender sees it."""
        matrix = np.eye(4)
        if self.arm is not None:
            angle = math.radians(self.slides * self.arm.turn_deg(pose.travel_mm)) if self.slides else 0.0
            return _about(_X, self.arm.pivot, angle)
        matrix[:3, 3] = self._slide(pose.travel_mm)
        steered = _about(self.axis.direction, self.axis.point, math.radians(self.steers * pose.steering_deg))
        return np.asarray(steered @ matrix)

    def seen(self, point: Array, travel_mm: Array, steering_deg: Array) -> Array:
        """Where a point (3,) of the fender is for the part as it was measured, at poses (n,), (n,); returns (n, 3)."""
        if self.arm is not None:
            turns = self.slides * np.array([self.arm.turn_deg(float(mm)) for mm in travel_mm]) if self.slides else 0.0 * travel_mm
            return turned(np.tile(point - self.arm.pivot, (len(turns), 1)), _X, -np.radians(turns)) + self.arm.pivot
        turns = np.radians(-self.steers * steering_deg)
        around = turned(np.tile(point - self.axis.point, (len(turns), 1)), self.axis.direction, turns) + self.axis.point
        return np.asarray(around - self.slides * travel_mm[:, None] * self.axis.direction)

    def _slide(self, mm: float) -> Array:
        return np.asarray(self.slides * mm * self.axis.direction)

    def _arm_turns(self) -> tuple[float, float]:
        assert self.arm is not None
        low, high = (self.slides * self.arm.turn_deg(mm) for mm in self.travel_mm)
        return low, high

    def _steered(self, body: Body) -> Body:
        if not self.turns:
            return body
        right, left = (self.steers * degrees for degrees in self.lock_deg)
        return RotationSweep(body, self.axis.point, left, right, axis=self.axis.direction)

    def _axle_places(self, slot: tuple[float, float]) -> AxlePlaces:
        forward, rearward = slot
        if self.travels and self.arm is not None:
            low, high = sorted(self._arm_turns())
            return ArcPlaces(self.arm.pivot[1:], (self.arm.length_mm - forward, self.arm.length_mm + rearward), (low, high))
        ends = [self._slide(mm)[1:] for mm in self.travel_mm] if self.travels else [np.zeros(2)]
        return HullPlaces([end + [along, 0.0] for end in ends for along in (-forward, rearward)])


def motion_of(job: Job, fixed_to: str) -> Motion:
    """How what is fixed to a part of the bike moves as the job's fender sees it.

    fixed_to : "wheel", "steering" or "chassis"
    Raises JobError where the geometry that it needs is impossible.
    """
    travel, front = job.travel, job.wheel.position == "front"
    fender, part = _ORDER[_CARRIED_WITH[job.mount.carried_by]], _ORDER[fixed_to]
    slides = (part == _ORDER["wheel"]) - (fender == _ORDER["wheel"])
    steers = ((part >= _ORDER["steering"]) - (fender >= _ORDER["steering"])) if front else 0
    left, right = travel.lock or (0.0, 0.0)
    return Motion(
        slides=int(slides),
        steers=int(steers),
        travel_mm=(-(travel.rebound or 0.0), travel.bump or 0.0),
        lock_deg=(-right, left),
        axis=steering_axis(job) if front else _UPRIGHT,
        arm=None if front else swingarm(job),
    )


def _slid(body: Body, low: Array, high: Array) -> Body:
    if isinstance(body, HalfSpace):
        # Where a half-space has been is a half-space.
        reach = max(float(body.normal @ low), float(body.normal @ high))
        return HalfSpace(body.point + reach * body.normal, body.normal)
    return Swept(body, high - low, begin=low)


def _about(axis: Array, point: Array, angle: float) -> Array:
    """(4, 4) that turns about an axis through a point."""
    matrix = np.eye(4)
    matrix[:3, :3] = turned(np.eye(3), axis, angle).T
    matrix[:3, 3] = point - matrix[:3, :3] @ point
    return matrix
