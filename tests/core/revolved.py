# SPDX-License-Identifier: GPL-3.0-or-later
"""Profiles, points and slow twins for the tests of the bodies."""

from itertools import pairwise

import numpy as np

from addon.core.base.arrays import Array
from addon.core.base.wheel_axes import point_at


def arc_profile(count: int = 60, half_width: float = 60.0, crown: float = 300.0, radius: float = 60.5) -> Array:
    x = np.linspace(0.0, half_width, count)
    return np.stack([x, crown - radius + np.sqrt(radius**2 - x**2)], axis=1)


def random_profile(rng: np.random.Generator) -> Array:
    count = int(rng.integers(1, 30))
    return np.stack([rng.uniform(0.0, 80.0, count), rng.uniform(100.0, 350.0, count)], axis=1)


PROFILES = {
    "arc": arc_profile(),
    "coarse arc": arc_profile(6),
    "fine arc": arc_profile(150),
    "rectangle": np.array([[50.0, 300.0]]),
    "peak": np.array([[0.0, 300.0], [40.0, 280.0], [55.0, 240.0]]),
    "cone": np.array([[0.0, 300.0], [80.0, 0.0]]),
    "flat crown": np.array([[20.0, 310.0], [50.0, 290.0], [62.0, 255.0], [58.0, 230.0]]),
}


def cloud(rng: np.random.Generator, count: int, least_rho: float, largest_rho: float, half_width: float) -> Array:
    return point_at(
        rng.uniform(least_rho, largest_rho, count), rng.uniform(-180.0, 180.0, count), rng.uniform(-half_width, half_width, count)
    )


def slow_distance(profile: Array, points: Array) -> Array:
    """All edges, one after the other; profile convex."""
    corners = np.vstack([profile, [profile[-1, 0], 0.0]]) if profile[-1, 1] > 0.0 else profile
    place = np.stack([np.abs(points[:, 0]), np.hypot(points[:, 1], points[:, 2])], axis=1)
    least, highest = np.full(len(place), np.inf), np.full(len(place), -np.inf)
    for start, end in pairwise(corners):
        along = (end - start) / np.linalg.norm(end - start)
        foot = start + np.clip((place - start) @ along, 0.0, np.linalg.norm(end - start))[:, None] * along
        least = np.minimum(least, np.linalg.norm(place - foot, axis=1))
        highest = np.maximum(highest, (place - start) @ np.array([-along[1], along[0]]))
    return np.where(highest < 0.0, -least, least)


def rotation(rng: np.random.Generator) -> Array:
    matrix = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    return np.asarray(matrix * np.sign(np.linalg.det(matrix)))
