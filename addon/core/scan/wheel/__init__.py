# SPDX-License-Identifier: GPL-3.0-or-later
"""Tire, axis and frame of the wheel in a scan."""
