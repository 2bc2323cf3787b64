# SPDX-License-Identifier: GPL-3.0-or-later
"""Bolt holes in a flat face of a scan: found, measured, taken together as a pattern, and the thread that they are for."""
