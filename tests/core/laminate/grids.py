# SPDX-License-Identifier: GPL-3.0-or-later
"""Surfaces with closed forms, as triangles over a grid."""

from collections.abc import Callable

import numpy as np

Mesh = tuple[np.ndarray, np.ndarray]
Place = Callable[[np.ndarray, np.ndarray], np.ndarray]


def grid(us: np.ndarray, vs: np.ndarray, place: Place) -> Mesh:
    """Triangles over a grid, counterclockwise about the cross product of the ways along u and v."""
    u, v = np.meshgrid(us, vs, indexing="ij")
    points = place(u.ravel(), v.ravel())
    at = np.arange(points.shape[0]).reshape(u.shape)
    a, b, c, d = at[:-1, :-1].ravel(), at[1:, :-1].ravel(), at[1:, 1:].ravel(), at[:-1, 1:].ravel()
    return points, np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])


def cone(half_angle: float, sides: int) -> Mesh:
    """The side of a cone about z, outward, narrowing upward, whose flat facets have the half angle exactly."""
    slope = np.tan(np.radians(half_angle)) / np.cos(np.pi / sides)

    def place(turn: np.ndarray, z: np.ndarray) -> np.ndarray:
        radius = (100.0 - z) * slope
        return np.stack([radius * np.cos(turn), radius * np.sin(turn), z], axis=1)

    return grid(np.linspace(0.0, 2.0 * np.pi, sides + 1), np.linspace(0.0, 80.0, 9), place)


def cylinder(turns: np.ndarray, length: float = 200.0, radius: float = 50.0) -> Mesh:
    """About z, outward."""
    return grid(
        turns,
        np.linspace(0.0, length, 3),
        lambda turn, z: np.stack([radius * np.cos(turn), radius * np.sin(turn), z], axis=1),
    )


def turned(points: np.ndarray, degrees: float) -> np.ndarray:
    """About y."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return points @ np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]]).T
