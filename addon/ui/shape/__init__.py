# SPDX-License-Identifier: GPL-3.0-or-later
"""Live shaping: guard, map, readout, views."""
