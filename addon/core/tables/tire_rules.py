# SPDX-License-Identifier: GPL-3.0-or-later
"""Rules and tables for tire sizes. Marks as in the package's docstring; [M] values say "from memory" wherever they show."""

from __future__ import annotations

MM_PER_INCH = 25.4

PUBLISHED = "published"
FROM_MEMORY = "from memory"

SPEED_KMH: dict[str, float] = {
    "B": 50, "F": 80, "G": 90, "J": 100, "K": 110, "L": 120, "M": 130, "N": 140, "P": 150, "Q": 160, "R": 170, "S": 180,
    "T": 190, "U": 200, "H": 210, "V": 240, "Z": 240, "W": 270, "Y": 300,
}  # fmt: skip
"""Speed symbol to km/h [S] oocities.org/fwarner_au tyrecodes; W and Y kacheluntai.com; F [M]. Z means over 240."""

LOAD_KG: dict[int, float] = {
    10: 60, 20: 80, 24: 90, 26: 95, 30: 106, 31: 109, 32: 112, 33: 115, 34: 118, 35: 121, 36: 125, 37: 128, 38: 132, 39: 136,
    40: 140, 41: 145, 42: 150, 43: 155, 44: 160, 45: 165, 46: 170, 47: 175, 48: 180, 49: 185, 50: 190, 51: 195, 52: 200,
    53: 206, 54: 212, 55: 218, 56: 224, 57: 230, 58: 236, 59: 243, 60: 250, 61: 257, 62: 265, 63: 272, 64: 280, 65: 290,
    66: 300, 67: 307, 68: 315, 69: 325, 70: 335, 71: 345, 72: 355, 73: 365, 74: 375, 75: 387, 76: 400, 77: 412, 78: 425,
    79: 437, 80: 450, 81: 462, 82: 475, 83: 487, 84: 500, 85: 515, 86: 530, 87: 545, 88: 560, 89: 580, 90: 600, 91: 615,
    92: 630, 93: 650, 94: 670, 95: 690,
}  # fmt: skip
"""Load index to kg [S] oocities.org/fwarner_au tyrecodes."""

ALPHA_WIDTH_MM: dict[str, float] = {"H": 80, "J": 90, "M": 100, "N": 110, "P": 110, "R": 120, "T": 130, "U": 140, "V": 150}
"""Width letter of alpha sizes [S] webbikeworld.com and choppersurplus.com; N [M]."""

ALPHA_WIDTH_FROM_MEMORY = frozenset({"N"})

LOW_SECTION_INCH = frozenset({3.60, 4.10, 5.10})
"""Inch widths whose aspect is 90 % unless printed: 3.60 and 4.10 [S] maxxis.com/uk; 5.10 [C] from its look-alike 130/90."""

LOW_SECTION_ASPECT = 90.0
FULL_SECTION_ASPECT = 100.0

INCH_WIDTH_FACTOR = 1.08
"""Inch sizes under-state the section width; at least this factor [J]."""

SMALL_RIM_CODE = 12
"""Rim codes up to this one have limits of their own [M] R75 6.1.4, 6.1.5."""

WIDTH_FACTOR = 1.10
WIDTH_FACTOR_SMALL_RIM = 1.08
WIDTH_FACTOR_SPECIAL = 1.25
"""Largest overall width of a new tire over its section width [M] R75 6.1.4."""

HEIGHT_FACTOR = 1.07
HEIGHT_FACTOR_SMALL_RIM = 1.10
HEIGHT_FACTOR_SPECIAL = 1.12
"""Largest new section height over the design one [M] R75 6.1.5.2."""

LEAST_HEIGHT_FACTOR = 0.97
LEAST_HEIGHT_FACTOR_SMALL_RIM = 0.93
LEAST_HEIGHT_FACTOR_SPECIAL = 1.00
"""Least new section height over the design one [M] R75 6.1.5.2."""

SPEED_ROWS: tuple[tuple[float, float], ...] = ((180.0, 1.10), (210.0, 1.13), (float("inf"), 1.16))
"""(up to km/h, section height at speed over the design one), normal use [M] R75 Annex 9; the last row [M-hi]."""

SPEED_EXTRA_SPECIAL = 0.05
"""Added to the factor for snow and special use [M] R75 Annex 9; over 210 km/h it is judgement [J]."""

RIM_WIDTH_FACTOR = 0.4
"""Millimeters of section width per millimeter of rim width [S] ISO 5751-2:2010 5.2."""

MEASURING_RIM_IN: dict[tuple[float, float, int], float] = {
    (90, 90, 21): 2.15, (100, 90, 19): 2.50, (110, 70, 17): 3.00, (120, 60, 17): 3.50, (120, 70, 17): 3.50,
    (130, 80, 17): 3.00, (130, 90, 16): 3.00, (150, 60, 17): 4.25, (160, 60, 17): 4.50, (180, 55, 17): 5.50,
    (190, 50, 17): 6.00,
}  # fmt: skip
"""(width, aspect, rim code) to measuring rim width in inches [M]."""

SAFE_CROWN_FACTOR = 0.75
"""Crown radius over largest width of the one arc that contains every ordinary crown [J], after US 9,045,010 claim 1 [S]."""

RUNOUT_RADIAL_MM = 3.0
RUNOUT_LATERAL_MM = 4.0
RUNOUT_SOURCE = "limits of the UK MOT inspection manual for motorcycles 5.2.2, steel rim, taken in full"
"""[S] lateral 4 mm steel rim; eccentricity 3 (unit [M-hi]). Full readings, since it is unknown which way they were taken."""
