# SPDX-License-Identifier: GPL-3.0-or-later
"""How thin a printed wall may be."""

from __future__ import annotations

PERIMETERS = 2
SOURCE = (
    "two lines of the nozzle [S]: 0.8 mm for a nozzle of 0.4 mm is the least in the guidelines of printparams.com and fabb-it.de"
)


def least_wall(nozzle: float) -> float:
    """Thinnest wall that a printer can make, mm. nozzle : mm. Source: SOURCE."""
    return PERIMETERS * nozzle
