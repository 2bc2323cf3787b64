# SPDX-License-Identifier: GPL-3.0-or-later
"""Figures of sheet metal work. Marks: [M] common practice, from memory."""

WIRE_ALLOWANCE = 2.5
"""Metal that a wired edge takes, in diameters of the wire [M]."""

LEAST_BETWEEN_BOARDS_MM = 6.0
"""Between two boards of a buck, so that a hand with a file and the tip of a saw get in; our choice."""

BEAD_PLAY_MM = 0.5
"""Room round the bead of a wired edge in the boards; our choice."""

TEMPLATE_BAND_MM = 30.0
"""Material of a profile template beyond the fender, enough to hold; our choice."""
