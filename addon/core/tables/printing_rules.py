# SPDX-License-Identifier: GPL-3.0-or-later
"""How a fender is printed: overhangs, supports, layers and speed."""

from __future__ import annotations

OVERHANG_DEG = 45.0
OVERHANG_SOURCE = (
    "faces that lean over more than 45 degrees from the vertical need support [S]: printing guidelines of layer-one.com.au, "
    "printparams.com, neway3dp.com and arti90.com; cosmoprint.ch says 60"
)

SUPPORT_DENSITY = 0.15
SUPPORT_SOURCE = "share of the room under overhangs that support fills; from memory"

LAYER_SHARE = 0.5
"""Layer height over the nozzle; from memory, within the 20 to 80 % that calculators of flow advise."""

SPEED_MM_S = 60.0
SPEED_SOURCE = (
    "line of the nozzle's width and half its height at 60 mm/s, the upper end of the 30 to 60 mm/s for quality [S] "
    "(calculator.city, volumetric flow); travel, cooling and heating come on top"
)

BRIM_CONTACT_MM2 = 300.0
"""A part that stands on less gets a brim; our choice."""


LEAST_FOOT_MM2_PER_MM = 0.5
"""A way to print that stands on less for each mm of its height topples or comes loose and is not offered; our choice: a wall of 3 mm
that stands 200 mm high on 34 mm of its length is just let pass."""

LEAST_STRENGTH_KEPT = 0.75
"""A way to print that keeps less of the strength at the weakest place ranks behind, and gets a caution; our choice."""


def layer_height(nozzle: float) -> float:
    """Height of a layer, mm."""
    return LAYER_SHARE * nozzle


def flow_mm3_s(nozzle: float) -> float:
    """Plastic per second, mm3/s: width of a line x height of a layer x speed."""
    return nozzle * layer_height(nozzle) * SPEED_MM_S
