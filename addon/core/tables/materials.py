# SPDX-License-Identifier: GPL-3.0-or-later
"""Names of printing materials, plies and resins that a job sheet may use."""

from __future__ import annotations

MATERIALS = ("PLA", "PETG", "PCTG", "ABS", "ASA", "PA-CF")
PLIES = ("CSM 300", "CSM 450", "CSM 600", "woven 200", "woven 300")
"""Chopped strand mat and woven cloth, by g/m2 of dry glass."""
RESINS = ("polyester", "vinyl ester", "epoxy")

DENSITY = {
    "PLA": (1.24, "published"),
    "PETG": (1.27, "published"),
    "PCTG": (1.23, "from memory"),
    "ABS": (1.04, "published"),
    "ASA": (1.07, "published"),
    "PA-CF": (1.06, "published"),
}
"""g/cm3 of printed material, and its basis. PLA: TigerTag SpoolmanDB; PETG: middle of 1.25 to 1.29, additive.tools; ABS: TigerTag
and i-en-s.nl (ASTM D792); ASA: renato.design; PA-CF: SpoolmanDB, PA12 with 10 % carbon. A print of full density is assumed."""
