# SPDX-License-Identifier: GPL-3.0-or-later
"""Exposure limits of what a laminate is made of, and what they are taken from.

basis : "published" where read in the source named, "from memory" else. Limits differ by country and are changed: the data sheet of
the can and local rules come first.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Limit:
    """substance : in the air; limit : in words; source; basis"""

    substance: str
    limit: str
    source: str
    basis: str


_OSHA_STYRENE = "OSHA chemical sampling data, 29 CFR 1910.1000 Table Z-2"

EXPOSURE_LIMITS: dict[str, tuple[Limit, ...]] = {
    "styrene": (
        Limit(
            "Styrene", "100 ppm over a working day, 200 ppm ceiling, 600 ppm for 5 minutes in 3 hours", _OSHA_STYRENE, "published"
        ),
        Limit(
            "Styrene",
            "50 ppm over a working day, 100 ppm over 15 minutes; 700 ppm endangers life",
            "NIOSH, recommended limit and IDLH 100-42-5",
            "published",
        ),
        Limit("Styrene", "10 ppm over a working day, 20 ppm over 15 minutes", "ACGIH, since 2020", "from memory"),
        Limit("Styrene", "100 ppm over a working day, 250 ppm over 15 minutes", "United Kingdom, workplace limit", "from memory"),
    ),
    "MEKP": (
        Limit("MEKP", "0.2 ppm (1.5 mg/m3) at any time", "NIOSH, PEL project 1338-23-4; no OSHA limit in force", "published"),
    ),
    "glass": (
        Limit(
            "Glass fiber",
            "3 fibers/cm3 (thinner than 3.5 um, longer than 10 um) and 5 mg/m3 over a working day",
            "NIOSH, fibrous glass",
            "published",
        ),
    ),
}

PROTECTION = (
    "Goggles that close, not glasses, wherever catalyst is poured: a 40 % solution severely damaged eyes in tests (NIOSH).",
    "Nitrile gloves, sleeves, and a respirator for organic vapor and particles (A1 or A2 with P2, from memory).",
    "Never bring catalyst and accelerator together undiluted: they can ignite or explode (from memory).",
    "Air moves away from the face and out of the room; no flame, no heater with a glowing wire: styrene burns from 0.9 % in air (NIOSH).",
    "Mix little at a time in flat pots: a deep pot of catalyzed resin heats itself and can smoke or burn.",
    "Sand glass wet or with suction; rags with resin and catalyst go outside, spread out, until they are hard.",
)
