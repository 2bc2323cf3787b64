# SPDX-License-Identifier: GPL-3.0-or-later
"""Sizes of gauges, mm. Marks: [S] read in the source, [J] our own judgment."""

from __future__ import annotations

LEAST_LINE_MM = 1.0
LEAST_TEXT_MM = 4.0
"""Raised text: width of a line and height at least: cosmoprint.ch [S]."""
USUAL_TEXT_MM = 5.0
LARGEST_TEXT_MM = 6.0
RAISED_MM = 0.8
SUNK_MM = 0.4
"""How far letters stand out, and how far they reach into what they stand on [J]."""
PLATE_MM = 3.0
"""Thickness of flat gauges; 2.4 to 3.0 is named for walls that bear loads (bureau guidelines) [S]."""
STRIP_WIDTHS_MM = (10.0, 15.0)
STRUT_WIDTH_MM = 12.0
STRUT_DEPTH_MM = 10.0
"""The arm from the mount to a crown strip [J]."""
LONGEST_ARM_DEG = 40.0
SHORTEST_ARM_DEG = 14.0
LAP_MM = 70.0
LAP_THREAD = "M4"
LAP_PLAY_MM = 0.1
"""An arm that turns farther is joined from pieces by half laps with three bolts, drilled to size together; the play that is
left at a bolt turns the rest of the arm [J]."""
NOTCH_RADIUS_MM = 1.0
"""Notch in the front edge of a strip where a gap is read [J]."""
LEAN_DEG = 45.0
"""Steepest lean from upright that prints without support: bureau guidelines [S]."""
POINT_SHARES = {"C": 0.0, "1": 0.5, "2": 0.85}
"""Reading points as shares of the tire's half width: crown, and 1 and 2 on the left (L) and right (R) [J]."""
FEELER_SIGMA_MM = 0.3
"""Standard deviation of a gap read with feelers or drill shanks over rubber [J]."""
