# SPDX-License-Identifier: GPL-3.0-or-later
"""Names of printing materials, plies and resins that a job sheet may use."""

from __future__ import annotations

MATERIALS = ("PLA", "PETG", "PCTG", "ABS", "ASA", "PA-CF")
PLIES = ("CSM 300", "CSM 450", "CSM 600", "woven 200", "woven 300")
"""Chopped strand mat and woven cloth, by g/m2 of dry glass."""
RESINS = ("polyester", "vinyl ester", "epoxy")
