# SPDX-License-Identifier: GPL-3.0-or-later
"""How a sentence names a place."""

from __future__ import annotations

from ..arrays import Array
from ..wheel_axes import station_of


def said(point: Array) -> str:
    """ "at station 12 deg, x = -30 mm" for a point (3,) in wheel axes."""
    return f"at station {float(station_of(point)):.0f} deg, x = {float(point[0]):.0f} mm"
