# SPDX-License-Identifier: GPL-3.0-or-later
"""Takes up what a skin lacks between the samples that it was kept clear at."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..base.arrays import Array
from ..base.tolerances import TOLERANCES
from ..clearance.clearance_field import ClearanceField
from ..skin.cage import Cage
from ..skin.skin_stencil import SkinStencil
from .restore import make_clear

MOST_MISSING_MM = 1.0
"""More than samples of the coarsest skin that can be shaped leave between them; what lacks more was never clear."""


def fine_clear(cage: Cage, stencil: SkinStencil, field: ClearanceField) -> tuple[Cage, float]:
    """A cage that is clear at the samples of a finer stencil, and how far its points were moved for that, mm.

    A cage that lacks more than MOST_MISSING_MM, or cannot be moved clear, comes back as it is.
    """
    points: Array = stencil.position.apply(cage.points)
    missing = -float(field.excess(points).min())
    if not TOLERANCES.clear < missing <= MOST_MISSING_MM:
        return cage, 0.0
    result = make_clear(cage.points, stencil.position, field, fixed_x=cage.topology.on_plane)
    return replace(cage, points=result.points), float(np.linalg.norm(result.points - cage.points, axis=1).max())
