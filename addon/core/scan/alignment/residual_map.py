# SPDX-License-Identifier: GPL-3.0-or-later
"""How far each point of a scan lies from the fitted tire, for coloring it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ...base.arrays import Array, as_points
from ..data.scan_data import UNIT_MM
from ..wheel.revolution_fit import FIRST_CUT
from .alignment import Alignment


def residual_map(points: ArrayLike, alignment: Alignment) -> Array:
    """Signed distance (n,) from the tire's fitted surface, mm, outward; NaN where a point is not on the tire.

    points : (n, 3) float, scan coordinates and unit; "on the tire" is within 2 % of the crown's radius of the fitted curve
    """
    fit = alignment.tire.fit
    rho, along = fit.axis.meridian(as_points(points) * UNIT_MM[alignment.unit])
    distance = fit.section.distance(rho, along)[0]
    _, angle = fit.section.polar(rho, along)
    inside = (np.abs(distance) < FIRST_CUT * fit.crown_radius) & (angle > fit.section.start) & (angle < fit.section.end)
    return np.where(inside, distance, np.nan)
