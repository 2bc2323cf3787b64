# SPDX-License-Identifier: GPL-3.0-or-later
"""Doubts of hand readings, and what hand readings may be expected to show.

Marks: [S] read in the source, [M] from memory and not confirmed, [J] our own judgment; nothing here but [S] may be cited as
published.
"""

from __future__ import annotations

ALPHA = 0.05
"""Level of the tests for a stray reading: common practice in statistics."""
ENOUGH_READINGS = 10
"""From this many readings on, their own scatter is trusted alone [J]; at 10 it is itself known to about 24 % (GUM, E.4.3)."""
DIVISION_MM = 1.0
"""Smallest division of a tape [J]."""
SIGMA_MM = 0.5
"""Standard deviation of one tape reading, where the sheet states none [J]."""

TAPE_THICKNESS_MM = 0.15
"""Steel tape or paper strip laid round the tire: it reads the circumference at half of its thickness [J]."""
LOADED_DROP_MM = (2.0, 25.0)
"""How much lower the axle of a laden, inflated tire lies than its free radius: from memory [M], no source."""
CROWN_WEAR_MM = 7.0
"""Rubber that a worn crown may have lost against a new tire: usual tread depth, from memory [M]."""
WIDTH_BELOW_NOMINAL = 0.07
"""A section may be this part narrower than its nominal width: from memory [M]; R75 sets no lower limit [M]."""

SINGLE_READING: dict[str, tuple[float, float]] = {
    "height": (0.5, 1.0),
    "ahead": (1.0, 1.0),
    "tilt": (0.3, 0.1),
    "radius": (1.0, 1.0),
    "circumference": (1.5, 1.0),
    "ground_radius": (1.0, 1.0),
    "width": (0.3, 0.1),
    "rim_width": (0.5, 0.1),
    "axle_to_face": (1.0, 1.0),
    "height_ahead": (0.5, 1.0),
}
"""Standard deviation of one reading, and the smallest division of what it is taken with: tape, calipers, or a level with
angles; mm, for the tilt degrees [J]."""
MM_PER_INCH = 25.4
"""International yard and pound agreement of 1959, exact [S]."""
