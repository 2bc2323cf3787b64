# SPDX-License-Identifier: GPL-3.0-or-later
"""How a sentence names a place."""

from __future__ import annotations

from .arrays import Array
from .wheel_axes import station_of


def format_place(point: Array) -> str:
    """ "at station 12 deg, x = -30 mm" for a point (3,) in wheel axes."""
    # as integers: a float a little under zero would be said as "-0"
    return f"at station {round(float(station_of(point)))} deg, x = {round(float(point[0]))} mm"
