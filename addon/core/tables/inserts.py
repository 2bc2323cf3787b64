# SPDX-License-Identifier: GPL-3.0-or-later
"""Heat-set inserts and blind rivet nuts, in mm. Pilot holes differ by brand: they are a starting point."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class HeatSetInsert:
    """pilot : hole at the bottom of the insert, tolerance 0 to +0.1; outer : largest diameter; length : of the insert."""

    pilot: float
    outer: float
    length: float


HEAT_SET_INSERT = {
    "M3": HeatSetInsert(4.0, 4.55, 5.74),
    "M4": HeatSetInsert(5.6, 6.17, 8.15),
    "M5": HeatSetInsert(6.4, 7.1, 9.52),
    "M6": HeatSetInsert(8.0, 8.69, 12.7),
}
"""[S] accu.co.uk p/488 and FreeCAD_FastenersWB HeatInserts.csv."""

RIVET_NUT_HOLE = {"M3": 5.0, "M4": 6.0, "M5": 7.0, "M6": 9.0, "M8": 11.0, "M10": 13.0}
"""[M] Holes of round-body rivet nuts, from memory."""

_POCKET_EXTRA = 0.5


def pocket_depth(thread: str) -> float:
    """Depth of the pocket for a heat-set insert, mm: its length + 0.5 ([S] creative3dp blog). KeyError if none is listed."""
    return HEAT_SET_INSERT[thread].length + _POCKET_EXTRA
