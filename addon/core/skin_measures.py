# SPDX-License-Identifier: GPL-3.0-or-later
"""Sizes of a skin that the builder wants to see while shaping."""

from __future__ import annotations

import numpy as np

from .arrays import Array, Index
from .job_sheet import Job
from .tables.materials import DENSITY


def skin_area(points: Array, quads: Index) -> float:
    """Area of a quad mesh, mm2. points : (p, 3) float, mm; quads : (q, 4) int, each taken as two triangles."""
    a, b, c, d = (points[quads[:, corner]] for corner in range(4))
    total = 0.0
    for first, second in ((b - a, c - a), (c - a, d - a)):
        total += float(np.linalg.norm(np.cross(first, second), axis=1).sum())
    return 0.5 * total


def widest(points: Array) -> float:
    """Width across the bike, mm, of a skin and its mirror image."""
    return 2.0 * float(np.abs(points[:, 0]).max())


def printed_mass_g(area_mm2: float, job: Job) -> float:
    """Mass of a wall of the job's thickness and material, g: area x wall x density, printed solid, without seat and rim."""
    density_g_cm3 = DENSITY[job.printer.material][0]
    return area_mm2 * job.wall.thickness * density_g_cm3 / 1000.0
