# SPDX-License-Identifier: GPL-3.0-or-later
"""Plies and what they are wetted with: thickness, fiber fractions, masses."""
