# SPDX-License-Identifier: GPL-3.0-or-later
"""The wall at the points of a skin, for views and gauges: without what seats do to it."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..job.job_sheet import Job
from ..seat.seat_offset import wall_shares
from .job_wall import wall_shape

Shares = tuple[Array | float, Array | float]
"""Wall outward and inward of the skin, mm, at each point (n,) or the same everywhere."""


def skin_wall(job: Job, points: Array, paint: Array | None) -> Shares:
    """Wall of a job at points (n, 3) of its skin, wheel axes, with the paint (n,) there, None for none."""
    outer, inner = wall_shares(job.wall)
    shape = wall_shape(job)
    if shape is None:
        return outer, inner
    share = shape.share(points, np.zeros(len(points)) if paint is None else paint)
    return outer * share + shape.raised(points)[0], inner * share
