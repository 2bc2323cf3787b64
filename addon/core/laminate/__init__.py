# SPDX-License-Identifier: GPL-3.0-or-later
"""The laminated part: its schedule, its plug or buck, draft, and flat patterns of its plies."""
