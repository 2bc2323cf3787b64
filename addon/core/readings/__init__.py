# SPDX-License-Identifier: GPL-3.0-or-later
"""Readings by hand and what they tell together."""
