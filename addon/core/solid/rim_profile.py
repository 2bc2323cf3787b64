# SPDX-License-Identifier: GPL-3.0-or-later
"""The section of the rim."""

from __future__ import annotations

import numpy as np

from ..arrays import Array

BEAD_RADIUS = 0.75
"""Radius of the bead in walls: it stands half a wall proud of the outer face. Our choice: common practice has no figure."""

EDGES = ("round", "bead", "square")


def rim_profile(edge: str, thickness: float, chord: float) -> Array:
    """Points of the rim's section between the outer and the inner face, both left out, (k, 2) float, in half walls.

    First coordinate from the middle of the wall outward, second out of the sheet. edge : one of EDGES
    round: half circle of the wall. bead: circle of BEAD_RADIUS walls, tangent to the inner face and starting at the outer one,
    so that the inner side stays flush. square: none. chord : mm, largest distance of the section's chords from the arc.
    """
    if edge == "square":
        return np.zeros((0, 2))
    if edge == "round":
        angle = np.linspace(0.0, np.pi, _steps(0.5 * thickness, np.pi, chord) + 1)[1:-1]
        return np.stack([np.cos(angle), np.sin(angle)], axis=1)
    radius = 2.0 * BEAD_RADIUS
    first = -np.arccos((2.0 - radius) / radius)
    angle = np.linspace(first, np.pi, _steps(BEAD_RADIUS * thickness, np.pi - first, chord) + 1)[1:]
    return np.stack([radius - 1.0 + radius * np.cos(angle), -radius * np.sin(first) + radius * np.sin(angle)], axis=1)


def rim_reach(edge: str, thickness: float) -> float:
    """How far the rim reaches past the edge of the skin, mm."""
    profile = rim_profile(edge, thickness, 0.001 * thickness)
    return 0.5 * thickness * float(profile[:, 1].max(initial=0.0))


def rim_radius(edge: str, thickness: float) -> float:
    """Radius of the ball about the edge of the wall's middle that holds the rim's section and the wall's end, mm."""
    profile = rim_profile(edge, thickness, 0.001 * thickness)
    return 0.5 * thickness * max(1.0, float(np.linalg.norm(profile, axis=1).max(initial=0.0)))


def _steps(radius: float, angle: float, chord: float) -> int:
    """Chords over an arc with a sagitta of at most chord: r (1 - cos(step / 2)) <= chord."""
    return max(6, int(np.ceil(angle / (2.0 * np.arccos(max(0.0, 1.0 - chord / radius))))))
