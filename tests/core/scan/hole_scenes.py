# SPDX-License-Identifier: GPL-3.0-or-later
"""Made-up scans of plates with bolt holes: a face, walls as far as a scanner sees them, the back, noise and stray points."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

Hole = tuple[float, float, float]
VIEW = 0.7
"""Direction from which a scanner looks in, radians in the plane."""


@dataclass(frozen=True)
class Sheet:
    """noise, mm; density, points per mm2; thickness, mm, 0 for a face alone; walls : "none", "all", "half" (one side of the
    circle), "shade" (as deep as a scanner sees that looks in at 45 degrees); bevel : mm"""

    noise: float
    density: float
    thickness: float = 0.0
    walls: str = "none"
    back: bool = False
    strays: float = 0.0
    bevel: float = 0.0

    def points(self, rng: np.random.Generator, holes: list[Hole], half: tuple[float, float]) -> np.ndarray:
        """(n, 3), the face at height 0, the plate below it."""
        wide = [(x, y, d + 2.0 * self.bevel) for x, y, d in holes]
        parts = [self._level(rng, wide, half, 0.0)]
        if self.back:
            parts.append(self._level(rng, holes, half, -self.thickness))
        parts += [self._wall(rng, *hole) for hole in holes if self.walls != "none"]
        points = np.concatenate(parts)
        points += rng.normal(0.0, self.noise, points.shape)
        stray = rng.random(len(points)) < self.strays
        points[stray] = rng.uniform([-half[0], -half[1], -25.0], [half[0], half[1], 25.0], (np.count_nonzero(stray), 3))
        return points

    def _level(self, rng: np.random.Generator, holes: list[Hole], half: tuple[float, float], height: float) -> np.ndarray:
        count = rng.poisson(4.0 * half[0] * half[1] * self.density)
        flat = rng.uniform([-half[0], -half[1]], half, (count, 2))
        solid = np.ones(count, bool)
        for x, y, d in holes:
            solid &= np.hypot(flat[:, 0] - x, flat[:, 1] - y) > 0.5 * d
        return np.column_stack([flat, np.full(count, height)])[solid]

    def _wall(self, rng: np.random.Generator, x: float, y: float, d: float) -> np.ndarray:
        count = rng.poisson(np.pi * d * self.thickness * self.density)
        turn, deep = rng.uniform(0.0, 2.0 * np.pi, count), self.thickness * rng.random(count)
        if self.walls == "half":
            turn, deep = turn[np.cos(turn - VIEW) > 0.0], deep[np.cos(turn - VIEW) > 0.0]
        elif self.walls == "shade":
            lit = deep < d * np.cos(turn - VIEW)
            turn, deep = turn[lit], deep[lit]
        radius = 0.5 * d + np.maximum(self.bevel - deep, 0.0)
        return np.column_stack([x + radius * np.cos(turn), y + radius * np.sin(turn), -deep])


def four_holes(diameter: float) -> list[Hole]:
    return [(-25.0, -15.0, diameter), (25.0, -15.0, diameter), (-25.0, 15.0, diameter), (25.0, 15.0, diameter)]
