# SPDX-License-Identifier: GPL-3.0-or-later
"""Metric fasteners: clearance holes, washers and heads, in mm.

All rows are second-hand copies of the standards [S2]. Clearance holes: engineeringhardware.com ?p=50 and
jlhy.miizo.top/tools/clearance-hole agree; cq_warehouse clearance_hole_sizes.csv agrees up to M10. For M12 medium and coarse it
has 14 and 15; 13.5 and 14.5 here are the values of the two pages on ISO 273.
"""

from __future__ import annotations

from dataclasses import dataclass

THREADS = ("M3", "M4", "M5", "M6", "M8", "M10", "M12")
FITS = ("fine", "medium", "coarse")


@dataclass(frozen=True)
class Washer:
    """Plain washer: hole, outer diameter, thickness (nominal for ISO 7089, largest for ISO 7093)."""

    hole: float
    outer: float
    thickness: float


@dataclass(frozen=True)
class Head:
    """Screw head: largest diameter and height."""

    diameter: float
    height: float


@dataclass(frozen=True)
class CountersunkHead:
    """Countersunk head of 90 degrees: theoretical diameter at the sharp edge, actual diameter, largest height."""

    sharp_diameter: float
    diameter: float
    height: float


NOMINAL_DIAMETER = {"M3": 3.0, "M4": 4.0, "M5": 5.0, "M6": 6.0, "M8": 8.0, "M10": 10.0, "M12": 12.0}

CLEARANCE_HOLE = {
    "M3": {"fine": 3.2, "medium": 3.4, "coarse": 3.6},
    "M4": {"fine": 4.3, "medium": 4.5, "coarse": 4.8},
    "M5": {"fine": 5.3, "medium": 5.5, "coarse": 5.8},
    "M6": {"fine": 6.4, "medium": 6.6, "coarse": 7.0},
    "M8": {"fine": 8.4, "medium": 9.0, "coarse": 10.0},
    "M10": {"fine": 10.5, "medium": 11.0, "coarse": 12.0},
    "M12": {"fine": 13.0, "medium": 13.5, "coarse": 14.5},
}
"""ISO 273 [S2]: thread, fit, diameter of the hole."""

_TOLERANCE_GRADES = {
    3.0: {"fine": 0.10, "medium": 0.14, "coarse": 0.25},
    6.0: {"fine": 0.12, "medium": 0.18, "coarse": 0.30},
    10.0: {"fine": 0.15, "medium": 0.22, "coarse": 0.36},
    18.0: {"fine": 0.18, "medium": 0.27, "coarse": 0.43},
}
"""ISO 286-1, grades IT12, IT13 and IT14 [M], up to and including the diameter: ISO 273 makes fine holes to H12, medium to H13 and
coarse to H14 [M], so that they may be larger by this, never smaller."""


def hole_tolerance(diameter: float, fit: str) -> float:
    """How much larger than its nominal diameter (mm, at most 18) a clearance hole may be, mm."""
    return next(grades[fit] for limit, grades in _TOLERANCE_GRADES.items() if diameter <= limit)


PLAIN_WASHER = {
    "M3": Washer(3.2, 7.0, 0.5),
    "M4": Washer(4.3, 9.0, 0.8),
    "M5": Washer(5.3, 10.0, 1.0),
    "M6": Washer(6.4, 12.0, 1.6),
    "M8": Washer(8.4, 16.0, 1.6),
    "M10": Washer(10.5, 20.0, 2.0),
    "M12": Washer(13.0, 24.0, 2.5),
}
"""ISO 7089 [S2]: engineeringhardware.com washer guide and FreeCAD_FastenersWB iso7089def.csv, which agree."""

LARGE_WASHER = {
    "M3": Washer(3.2, 9.0, 0.9),
    "M4": Washer(4.3, 12.0, 1.1),
    "M5": Washer(5.3, 15.0, 1.4),
    "M6": Washer(6.4, 18.0, 1.8),
    "M8": Washer(8.4, 24.0, 2.2),
    "M10": Washer(10.5, 30.0, 2.7),
    "M12": Washer(13.0, 37.0, 3.3),
}
"""ISO 7093 [S2]: cq_warehouse plain_washer_parameters.csv."""

SOCKET_HEAD = {
    "M3": Head(5.5, 3.0),
    "M4": Head(7.0, 4.0),
    "M5": Head(8.5, 5.0),
    "M6": Head(10.0, 6.0),
    "M8": Head(13.0, 8.0),
    "M10": Head(16.0, 10.0),
    "M12": Head(18.0, 12.0),
}
"""ISO 4762 plain head [S2]: FreeCAD_FastenersWB iso4762def.csv; knurled heads are up to 0.3 mm larger."""

BUTTON_HEAD = {
    "M3": Head(5.7, 1.65),
    "M4": Head(7.6, 2.2),
    "M5": Head(9.5, 2.75),
    "M6": Head(10.5, 3.3),
    "M8": Head(14.0, 4.4),
    "M10": Head(17.5, 5.5),
    "M12": Head(21.0, 6.6),
}
"""ISO 7380-1 [S2]: scribd.com/doc/270233937 and cq_warehouse button_head_parameters.csv, which agree."""

COUNTERSUNK_HEAD = {
    "M3": CountersunkHead(6.72, 6.0, 1.86),
    "M4": CountersunkHead(8.96, 8.0, 2.48),
    "M5": CountersunkHead(11.20, 10.0, 3.10),
    "M6": CountersunkHead(13.44, 12.0, 3.72),
    "M8": CountersunkHead(17.92, 16.0, 4.96),
    "M10": CountersunkHead(22.40, 20.5, 6.20),
    "M12": CountersunkHead(26.88, 25.0, 7.44),
}
"""ISO 10642 [S2]: FreeCAD_FastenersWB iso10642def.csv."""
