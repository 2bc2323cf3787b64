# SPDX-License-Identifier: GPL-3.0-or-later
"""How far rays go until they meet the face of a body."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.tolerances import TOLERANCES
from .boolean import Solid


def ray_lengths(body: Solid, starts: Array, directions: Array, longest: float) -> Array:
    """Length (n,) of rays to the first facet that they meet, mm, infinite if there is none within `longest`.

    starts : (n, 3) float, mm; a facet that a ray starts on is not met; directions : (n, 3) float, unit
    """
    lengths = np.full(len(starts), np.inf)
    stops = starts + longest * directions
    for number, (start, stop) in enumerate(zip(starts.tolist(), stops.tolist(), strict=True)):
        met = [hit.distance for hit in body.ray_cast(start, stop)]  # as shares of the way, the least first
        lengths[number] = longest * next((share for share in met if share * longest > TOLERANCES.weld), np.inf)
    return lengths
