# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether a scan comes in the unit that it is said to."""

from __future__ import annotations

from .scan_data import UNIT_MM

LEAST_RADIUS, LARGEST_RADIUS = 180.0, 420.0
"""Crown radii, mm, of motorcycle tires: from scooters with rims of 10 inches to 23 inches. Common practice, no source."""


def unit_warning(crown_radius: float, unit: str) -> str | None:
    """A sentence if no motorcycle tire has this crown radius (mm), with the unit that would make it one; else None."""
    if LEAST_RADIUS <= crown_radius <= LARGEST_RADIUS:
        return None
    own = crown_radius / UNIT_MM[unit]
    fitting = [name for name, factor in UNIT_MM.items() if LEAST_RADIUS <= own * factor <= LARGEST_RADIUS]
    advice = (
        f"it would be one of {own * UNIT_MM[fitting[0]]:.0f} mm if the scan were in {fitting[0]}"
        if fitting
        else ("no unit makes it one, so the scan is scaled or this is no motorcycle wheel")
    )
    return f"A crown radius of {crown_radius:.4g} mm is not that of a motorcycle tire ({LEAST_RADIUS:g} to {LARGEST_RADIUS:g} mm): {advice}."
