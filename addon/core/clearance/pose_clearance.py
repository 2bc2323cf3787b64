# SPDX-License-Identifier: GPL-3.0-or-later
"""The least clearance of a skin at one pose of the bike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..base.arrays import Array
from ..bodies.body import Body
from .limit import Limit
from .motion import Motion, Pose


@dataclass(frozen=True, eq=False)
class PoseClearance:
    """name : of the limit with the least to spare; mm : from the part's face; excess_mm : over what is required; place : (3,) float"""

    name: str
    mm: float
    excess_mm: float
    place: Array


def pose_clearance(skin: Array, limits: Sequence[Limit], part_mm: Mapping[str, float], pose: Pose) -> PoseClearance:
    """The least clearance of skin points (n, 3), n >= 1, of both halves, with all that moves at a pose.

    limits : as the skin has them, not all of them bearing; part_mm : what the part's own face keeps from each, by name
    """
    found = []
    for limit in limits:
        if limit.bears or limit.image:
            continue
        excess = _distance(skin, limit, pose) - limit.required_mm
        worst = int(excess.argmin())
        found.append(PoseClearance(limit.name, part_mm[limit.name] + float(excess[worst]), float(excess[worst]), skin[worst]))
    return min(found, key=lambda one: one.excess_mm)


def _distance(skin: Array, limit: Limit, pose: Pose) -> Array:
    body: Body | None = limit.still
    motion: Motion | None = limit.motion
    if body is None or motion is None or not motion.moves:
        return limit.body.distance(skin)
    back = np.linalg.inv(motion.placement(pose))
    return body.distance(skin @ back[:3, :3].T + back[:3, 3])


def pose_path(travel_mm: tuple[float, float], lock_deg: tuple[float, float], steps: int) -> Iterator[Pose]:
    """Once through all: up to full bump, down to full rebound and back, then the bars to full lock both ways and back.

    travel_mm, lock_deg : least and most; steps : of each of the six ways
    """
    for low, high in pairwise((0.0, travel_mm[1], travel_mm[0], 0.0)):
        if low != high:
            yield from (Pose(float(mm), 0.0) for mm in np.linspace(low, high, steps + 1)[1:])
    for low, high in pairwise((0.0, lock_deg[1], lock_deg[0], 0.0)):
        if low != high:
            yield from (Pose(0.0, float(degrees)) for degrees in np.linspace(low, high, steps + 1)[1:])
