# SPDX-License-Identifier: GPL-3.0-or-later
"""At which pose of the bike a place is nearest to something that moves."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..bodies.body import Body
from .limit import Limit
from .motion import Motion, Pose

_STEPS = 21
_ROUNDS = 5


def limit_pose(point: Array, limit: Limit) -> Pose | None:
    """The pose at which a point (3,) is nearest to a limit; None if the limit does not move."""
    if not limit.moves or limit.still is None or limit.motion is None:
        return None
    return worst_pose(point, limit.still, limit.motion)


def pose_words(pose: Pose) -> str:
    """A pose in words, such as "travel +110 mm, bars 30 deg left"."""
    degrees = round(pose.steering_deg)
    bars = f"bars {abs(degrees)} deg {'left' if degrees > 0 else 'right'}" if degrees else "bars straight"
    return f"travel {round(pose.travel_mm):+d} mm, {bars}" if round(pose.travel_mm) else bars


def worst_pose(point: Array, still: Body, motion: Motion) -> Pose:
    """The pose at which a point (3,) of the fender is nearest to a moved body; the pose as measured counts where it is as near.

    still : the body where it was measured. A grid over travel and steering that closes in on its best place: within a thousandth
    of the ranges where the distance has one valley.
    """
    best = Pose()
    least = float(still.distance(point[None])[0]) - 1e-6
    low = np.array([motion.travel_mm[0] if motion.slides else 0.0, motion.lock_deg[0] if motion.steers else 0.0])
    high = np.array([motion.travel_mm[1] if motion.slides else 0.0, motion.lock_deg[1] if motion.steers else 0.0])
    start, end = low, high
    for _ in range(_ROUNDS):
        travel, steering = np.meshgrid(*(np.linspace(a, b, _STEPS) for a, b in zip(start, end, strict=True)))
        distance = still.distance(motion.seen(point, travel.ravel(), steering.ravel()))
        index = int(distance.argmin())
        if distance[index] < least:
            least, best = float(distance[index]), Pose(float(travel.flat[index]), float(steering.flat[index]))
        reach = 2.0 * (end - start) / _STEPS
        at = np.array([best.travel_mm, best.steering_deg])
        start, end = np.maximum(at - reach, low), np.minimum(at + reach, high)
    return best
