# SPDX-License-Identifier: GPL-3.0-or-later
"""The section of the rim."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array

BEAD_RADIUS = 0.75
"""Radius of the bead in walls: it stands half a wall proud of the outer face. Our choice: common practice has no figure."""


@dataclass(frozen=True)
class RimEdge:
    """How a rim is closed. kind : one of EDGE_KINDS

    size : mm, of a bead its radius, from half a wall to a whole one, None for BEAD_RADIUS walls; of a square edge the radius of
    its two corners, up to half a wall, None for sharp ones; a round edge has the radius of half a wall and no size
    """

    kind: str = "round"
    size: float | None = None

    def radius(self, thickness: float) -> float:
        """Least radius of its section, mm."""
        if self.kind == "round":
            return 0.5 * thickness
        if self.kind == "bead":
            return BEAD_RADIUS * thickness if self.size is None else self.size
        return 0.0 if self.size is None else min(self.size, 0.5 * thickness)


def rim_profiles(edge: RimEdge, half: Array, count: int) -> Array:
    """Sections of the rim, from the outer to the inner face, both left out, (b, 2 count, 2) float, mm.

    half : (b,) float, mm, half of the wall at each; count : points of half a section
    First coordinate from the middle of the wall outward, second out of the surface.
    round: half circle of the wall. bead: circle tangent to the inner face and starting at the outer one, so that the inner side
    stays flush. square: two quarter circles and the flat between them.
    """
    wall = half[:, None]
    if edge.kind == "bead":
        radius = 2.0 * BEAD_RADIUS * wall if edge.size is None else np.full_like(wall, edge.size)
        first = -np.arccos(np.minimum((2.0 * wall - radius) / radius, 1.0))
        angle = first + (np.pi - first) * np.arange(1, 2 * count + 1) / (2 * count)
        return np.stack([radius - wall + radius * np.cos(angle), radius * (np.sin(angle) - np.sin(first))], axis=-1)
    radius = np.minimum(edge.size or 0.0, wall) if edge.kind == "square" else wall
    quarter = 0.5 * np.pi * np.arange(1, count + 1) / count
    rounded = np.stack([wall - radius + radius * np.cos(quarter), radius * np.sin(quarter)], axis=-1)
    rounded = np.concatenate([rounded, rounded[:, ::-1] * [-1.0, 1.0]], axis=1)
    # where the corners meet in the middle, they would share a point
    angle = np.pi * np.arange(1, 2 * count + 1) / (2 * count + 1)
    circle = wall[..., None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    return np.where((radius > 0.99 * wall)[..., None], circle, rounded)


def rim_reach(edge: RimEdge, thickness: float) -> float:
    """How far the rim reaches past the edge of the skin, mm."""
    return float(_section(edge, thickness)[:, 1].max())


def rim_radius(edge: RimEdge, thickness: float) -> float:
    """Radius of the ball about the edge of the wall's middle that holds the rim's section and the wall's end, mm."""
    return max(0.5 * thickness, float(np.linalg.norm(_section(edge, thickness), axis=1).max()))


def rim_proud(edge: RimEdge, thickness: float) -> float:
    """How far the rim stands over the outer face, mm."""
    return max(0.0, float(_section(edge, thickness)[:, 0].max()) - 0.5 * thickness)


def half_count(edge: RimEdge, thickness: float, chord: float) -> int:
    """Points that half a section needs for chords within `chord`, mm, of its arcs: r (1 - cos(step / 2)) <= chord."""
    radius = edge.radius(thickness)
    if radius == 0.0:
        return 0
    angle = np.pi if edge.kind != "bead" else 1.75 * np.pi
    return max(3, int(np.ceil(0.5 * angle / (2.0 * np.arccos(max(0.0, 1.0 - chord / radius))))))


def _section(edge: RimEdge, thickness: float) -> Array:
    return np.asarray(rim_profiles(edge, np.array([0.5 * thickness]), 500)[0])
