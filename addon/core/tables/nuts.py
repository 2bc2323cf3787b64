# SPDX-License-Identifier: GPL-3.0-or-later
"""Nuts, pitches and screw lengths that can be bought, in mm."""

from __future__ import annotations

PITCH = {"M3": 0.5, "M4": 0.7, "M5": 0.8, "M6": 1.0, "M8": 1.25, "M10": 1.5, "M12": 1.75}
"""Coarse pitch [S2]: FreeCAD_FastenersWB MetricPitchTable.csv."""

LOCK_NUT_HEIGHT = {"M3": 4.5, "M4": 6.0, "M5": 6.8, "M6": 8.0, "M8": 9.5, "M10": 11.9, "M12": 14.9}
"""ISO 7040, hexagon nuts with a nylon ring, largest height [S2]: FreeCAD_FastenersWB iso7040def.csv."""

LOCK_NUT_ACROSS_FLATS = {"M3": 5.5, "M4": 7.0, "M5": 8.0, "M6": 10.0, "M8": 13.0, "M10": 16.0, "M12": 18.0}
"""ISO 7040, largest width across flats [S2]: FreeCAD_FastenersWB iso7040def.csv."""

LOCK_NUT_ACROSS_CORNERS = {thread: flats * 2.0 / 3.0**0.5 for thread, flats in LOCK_NUT_ACROSS_FLATS.items()}
"""Of a hexagon with sharp corners, which no nut exceeds; computed."""

PITCHES_PAST_NUT = 2
"""How far a screw stands past a lock nut; common practice, no source."""

LENGTHS = (6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 90, 100, 110, 120)
"""Lengths that screws are sold in (ISO 888); from memory."""
