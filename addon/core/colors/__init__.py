# SPDX-License-Identifier: GPL-3.0-or-later
"""The colors of maps: clearance, wall, draft, bending, difference."""
