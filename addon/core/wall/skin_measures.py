# SPDX-License-Identifier: GPL-3.0-or-later
"""Sizes of a skin that the builder wants to see while shaping."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from ..job.job_sheet import Job
from ..tables.materials import DENSITY
from .skin_wall import Shares


def wall_volume(points: Array, quads: Index, shares: Shares) -> float:
    """Area of a quad mesh times its wall, mm3, without seat and rim.

    points : (p, 3) float, mm; quads : (q, 4) int, each taken as two triangles; shares : see skin_wall.py
    """
    thickness = np.broadcast_to(np.asarray(shares[0]) + np.asarray(shares[1]), len(points))
    a, b, c, d = (points[quads[:, corner]] for corner in range(4))
    area = 0.5 * (np.linalg.norm(np.cross(b - a, c - a), axis=1) + np.linalg.norm(np.cross(c - a, d - a), axis=1))
    mean = np.mean([thickness[quads[:, corner]] for corner in range(4)], axis=0)
    return float((area * mean).sum())


def widest(points: Array) -> float:
    """Width across the bike, mm, of a skin and its mirror image."""
    return 2.0 * float(np.abs(points[:, 0]).max())


def printed_mass_g(volume_mm3: float, job: Job) -> float:
    """Mass of a volume of the job's material, g, printed solid."""
    density_g_cm3 = DENSITY[job.printer.material][0]
    return volume_mm3 * density_g_cm3 / 1000.0
