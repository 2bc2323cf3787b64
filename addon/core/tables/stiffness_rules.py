# SPDX-License-Identifier: GPL-3.0-or-later
"""Loads on a fender, what its materials bear, and the frequencies that shake it.

Marks: [S] read in the source named; [M] from memory, not confirmed.
"""

from __future__ import annotations

HAND_PUSH_N = 10.0
HAND_PUSH_SOURCE = "a hand that leans on a tip, as in washing: 10 N, the weight of a liter of water; common practice, no source"

HAND_PATCH_MM = 12.0
"""Radius of what a finger presses on; our choice."""

AIR_KG_M3 = 1.225
"""Density of air at sea level and 15 deg C, ISO 2533 [M]."""

DRAG_COEFFICIENT = 1.2
DRAG_SOURCE = "1.2 times the dynamic pressure on the area seen from ahead, as of a flat plate square to the wind (from memory)"

POISSON_PLASTIC = 0.38
"""Middle of 0.35 to 0.40 [M]."""

LAYER_MODULUS = {
    "PLA": (0.81, "published"),
    "PETG": (0.8, "from memory"),
    "PCTG": (1.0, "published"),
    "ABS": (0.8, "from memory"),
    "ASA": (0.8, "from memory"),
    "PA-CF": (0.5, "from memory"),
}
"""Young's modulus across the layers over that along them. PLA: 1615 over 1997 MPa, Polymaker PolyTerra data sheet V5.3; PCTG: 1.86
over 1.81 GPa, Essentium on knowde.com, taken as 1; a PETG with 30 % glass has 0.44 [S] (Polymaker PETG-1013)."""

STRENGTH_MPA = {
    "PLA": (23.2, "published"),
    "PETG": (44.0, "published"),
    "PCTG": (44.0, "published"),
    "ABS": (33.0, "from memory"),
    "ASA": (38.0, "from memory"),
    "PA-CF": (60.0, "from memory"),
}
"""Tensile strength along the layers, MPa. PLA: Polymaker PolyTerra data sheet V5.3, ISO 527, a filled PLA; plain ones reach 50 to
65; PETG: low end of 44 to 56, additive.tools; PCTG: Essentium on knowde.com."""

LEAST_RESERVE = 2.0
"""Strength across the layers over the stress there that is wanted; common practice, no source."""

WHEEL_MARGIN = 1.2
WHEEL_SOURCE = "a natural frequency is to be 20 % over what the wheel turns at at top speed; common practice, no source"

ENGINE_RPM = (2500.0, 5000.0)
ENGINE_SOURCE = "one shake a turn where road engines run most, 2,500 to 5,000 a minute; common practice, no source"
