# SPDX-License-Identifier: GPL-3.0-or-later
"""What the builder points to in a scan: tire, mount, holes and chassis by balls or by marked points; what is up and forward."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from ...base.arrays import Array, Mask
from ...base.errors import JobError
from ...base.row_vectors import dot_rows

REGIONS = ("tire", "mount", "holes", "chassis")
DIRECTIONS = ("up", "forward")
POSITIONS = ("front", "rear")


@dataclass(frozen=True, eq=False)
class Hints:
    """Scan coordinates and unit. balls : region -> (b, 4) of center and radius; directions : "up", "forward" -> (3,) unit.

    position : "front" or "rear" wheel; tells on which side of the wheel the chassis lies
    masks : region -> (n,) True for the points of the scan that are marked; a face is marked if all of its corners are
    """

    balls: Mapping[str, Array] = field(default_factory=dict)
    directions: Mapping[str, Array] = field(default_factory=dict)
    position: str = "front"
    masks: Mapping[str, Mask] = field(default_factory=dict)

    @property
    def regions(self) -> frozenset[str]:
        """The regions that something is said of."""
        return frozenset(self.balls) | frozenset(self.masks)

    def inside(self, region: str, points: Array) -> Mask:
        """(n,) True for points (n, 3) in any ball of the region."""
        return near_balls(points, self.balls[region])


def checked_hints(hints: Hints, count: int) -> Hints:
    """The hints, if their masks fit a scan of so many points. Raises JobError that names the region."""
    for region, mask in hints.masks.items():
        if region not in REGIONS:
            raise JobError(f"hints.{region}", f"unknown, allowed are {', '.join(REGIONS)}")
        if mask.dtype != np.bool_ or mask.shape != (count,):
            raise JobError(
                f"hints.{region}", f"a mask of {mask.shape} {mask.dtype}, one truth value for each of {count} points is needed"
            )
    return hints


def near_balls(points: Array, balls: Array) -> Mask:
    """(n,) True for points (n, 3) in any of the balls (b, 4)."""
    found = np.zeros(len(points), bool)
    for ball in balls:
        away = points - ball[:3]
        found |= dot_rows(away, away) <= ball[3] ** 2
    return found


def parse_hints(data: Any) -> Hints:
    """Hints from decoded JSON: {"tire": [[x, y, z, radius], ...], ..., "up": [x, y, z], "forward": ..., "position": "front"}.

    All keys may be left out. Raises JobError that names the key, what it holds and what is allowed.
    """
    if not isinstance(data, dict):
        raise JobError("hints", f"{type(data).__name__}, an object with the keys {', '.join(REGIONS)} is needed")
    allowed = (*REGIONS, *DIRECTIONS, "position")
    for key in data:
        if key not in allowed:
            raise JobError(f"hints.{key}", f"unknown, allowed are {', '.join(allowed)}")
    position = data.get("position", "front")
    if position not in POSITIONS:
        raise JobError("hints.position", f"{position!r}, allowed are front and rear")
    balls = {key: _balls(key, data[key]) for key in REGIONS if key in data}
    directions = {key: _direction(key, data[key]) for key in DIRECTIONS if key in data}
    return Hints(balls, directions, position)


def _numbers(key: str, value: Any, allowed: str) -> Array:
    try:
        numbers = np.array(value, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise JobError(key, f"{value!r}, allowed is {allowed}") from error
    if not np.isfinite(numbers).all():
        raise JobError(key, f"{value!r}, allowed is {allowed} of finite numbers")
    return numbers


def _balls(key: str, value: Any) -> Array:
    allowed = "a list of [x, y, z, radius]"
    balls = _numbers(f"hints.{key}", value, allowed)
    if balls.ndim != 2 or balls.shape[1:] != (4,) or len(balls) == 0 or balls[:, 3].min() <= 0.0:
        raise JobError(f"hints.{key}", f"{value!r}, allowed is {allowed} with radius over 0")
    return balls


def _direction(key: str, value: Any) -> Array:
    vector = _numbers(f"hints.{key}", value, "[x, y, z]")
    if vector.shape != (3,) or not np.linalg.norm(vector) > 0.0:
        raise JobError(f"hints.{key}", f"{value!r}, allowed is [x, y, z] that is not zero")
    return np.asarray(vector / np.linalg.norm(vector))
