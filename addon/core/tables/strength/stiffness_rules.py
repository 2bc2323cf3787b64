# SPDX-License-Identifier: GPL-3.0-or-later
"""Loads on a fender, what its materials bear, and the frequencies that shake it.

Marks: [S] read in the source named; [M] from memory, not confirmed.
"""

from __future__ import annotations

HAND_PUSH_N = 5.0
HAND_PUSH_SOURCE = "a hand on a tip, as in washing: 5 N, the weight of half a liter of water; common practice, no source"

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

FIBER_MODULUS_MPA = {"glass": 72_400.0, "carbon": 230_000.0}
"""Young's modulus of E-glass and of standard carbon fiber [M]."""

RESIN_MODULUS_MPA = 3_300.0
"""Of cured resin and gel coat [M]."""

POISSON_LAMINATE = 0.32
"""Middle of 0.30 to 0.35 [M]."""

LAMINATE_BASIS = "from memory"
"""Of all figures of laminates here: a strip of the laminate, bent, tells more."""


def mat_modulus_mpa(p: float) -> float:
    """Of chopped strand mat, p of it fiber by mass: (15 p + 2) GPa, the line of class rules and ISO 12215-5 [M]."""
    return 1000.0 * (15.0 * p + 2.0)


def cloth_modulus_mpa(fiber: str, volume: float) -> float:
    """Of cloth along its threads: half of the fiber lies along, the rest adds as resin does (rule of mixtures).

    fiber : "glass" or "carbon"; volume : of fiber over that of the laminate. Half glass by mass gives 14.3 GPa, class rules 14.5 [M].
    """
    along = 0.5 * volume
    return along * FIBER_MODULUS_MPA[fiber] + (1.0 - along) * RESIN_MODULUS_MPA


def mat_strength_mpa(p: float) -> float:
    """Tensile strength of chopped strand mat, p of it fiber by mass: 200 p + 25 MPa, the line of class rules [M]."""
    return 200.0 * p + 25.0


def cloth_strength_mpa(p: float) -> float:
    """Tensile strength of cloth along its threads, p of it fiber by mass: 400 p - 10 MPa, the line of class rules for glass [M].

    Carbon bears more.
    """
    return 400.0 * p - 10.0
