# SPDX-License-Identifier: GPL-3.0-or-later
"""Room for screw heads, washers and tools, and the wall that must stay under them, in mm."""

from __future__ import annotations

HARDWARE = ("plain", "counterbore", "countersink", "washer_flat", "insert")
HARDWARE_OF_NUTS = ("plain", "washer_flat")
"""On these a nut may lie as well as a head."""
WASHERS = ("none", "plain", "large", "rubber")

RUBBER_MM = 2.0
"""Thickness of a rubber washer as wide as the large one that lies on it, against cracks from vibration; common practice, no source."""

DROP_IN = 1.0
"""A recess is so much wider than the head or washer in it. Our choice: 0.3 for knurled heads (ISO 4762 [S2]), 0.2 that printed
holes come out too small [S] (layer-one guide), the rest to drop in; gives the 11 mm for M6 of DIN 974 (from memory)."""

FLAT_DEPTH = 0.3
"""Depth of a washer flat where none is stated, under the lowest place of the face: one coarse layer; our choice."""

SUNK = 0.1
"""How far a countersunk head's sharp edge lies under the face where no more is stated; our choice, so that it never stands out."""

LEAST_UNDER_HEAD = 2.4
"""Wall under a head or washer that pulls on it: load-bearing prints, 2.4 to 3.0 [S] (printing bureaus, see cautions.py)."""

LEAST_PLAIN_PART = 1.2
"""Wall of full hole under a cone or an insert: general least wall of prints, 1.0 to 1.2 [S] (the same bureaus)."""

EDGE_BREAK = 0.4
"""How far the mouth of a recess or slot is broken at 45 degrees where a hand can reach it, and half of its depth at most; breaking
edges by 0.2 to 0.5 is from memory."""

STRAIGHT_REACH = 40.0
"""Free length over a head for the screw and the short arm of a hex key up to M12: 20 to 45 (ISO 2936, from memory)."""

LEAST_ENGAGEMENT = 1.0
"""Thread in an insert, in bolt diameters; common practice, no source."""

MOST_UNEVEN = 0.3
"""A face that varies by more under a washer, mm, does not carry it all round; our choice, a coarse layer."""
