# SPDX-License-Identifier: GPL-3.0-or-later
"""How far a hole must stay from an edge."""

from __future__ import annotations

from .fasteners import NOMINAL_DIAMETER, PLAIN_WASHER

PRINT_FACTOR = 2.0
PRINT_EXTRA_MM = 1.0
LAMINATE_FACTOR = 3.0
WASHER_EXTRA_MM = 1.0

SOURCE = (
    "print: 2 bolt diameters + 1 mm, our choice after the 2D + 1.27 mm of metal sheet (forum, eng-tips.com thread 153469); "
    "fiberglass: 3 bolt diameters, composite design handbooks (from memory); under it a caution, and never under the radius of what lies on the hole + 1 mm"
)


def edge_distance(thread: str, laminate: bool) -> float:
    """Least distance from the center of a hole to an edge, in mm.

    thread : a key of THREADS; laminate : True if a fiberglass part with the same holes is planned
    Source: SOURCE.
    """
    diameter = NOMINAL_DIAMETER[thread]
    rule = LAMINATE_FACTOR * diameter if laminate else PRINT_FACTOR * diameter + PRINT_EXTRA_MM
    return max(rule, PLAIN_WASHER[thread].outer / 2 + WASHER_EXTRA_MM)
