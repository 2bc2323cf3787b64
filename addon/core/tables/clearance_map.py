# SPDX-License-Identifier: GPL-3.0-or-later
"""Published colors of the clearance map.

CIVIDIS : 17 anchors of the map of Nunez, Anderton and Renslow, "Optimizing colormaps with consideration for color vision
    deficiency", PLoS ONE 13(7):e0199239 (2018), linear light to the eye and safe for color blindness [S].
VERMILLION, BLACK : of the set of Okabe and Ito, "Color Universal Design" (2008) [S]; for what breaks the budget.
BLUE, ORANGE : of the same set; for the two sides of a difference.
"""

from __future__ import annotations

CIVIDIS = (
    (0.0000, 0.1351, 0.3048),
    (0.0000, 0.1788, 0.4148),
    (0.1034, 0.2204, 0.4358),
    (0.1951, 0.2644, 0.4259),
    (0.2637, 0.3078, 0.4228),
    (0.3242, 0.3513, 0.4263),
    (0.3808, 0.3952, 0.4357),
    (0.4352, 0.4398, 0.4511),
    (0.4887, 0.4853, 0.4710),
    (0.5478, 0.5319, 0.4717),
    (0.6091, 0.5798, 0.4636),
    (0.6720, 0.6293, 0.4480),
    (0.7365, 0.6806, 0.4240),
    (0.8027, 0.7340, 0.3902),
    (0.8707, 0.7896, 0.3433),
    (0.9411, 0.8475, 0.2758),
    (0.9957, 0.9093, 0.2178),
)

VERMILLION = (0.835, 0.369, 0.0)
BLACK = (0.0, 0.0, 0.0)
BLUE = (0.0, 0.447, 0.698)
ORANGE = (0.902, 0.624, 0.0)
