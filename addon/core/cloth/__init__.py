# SPDX-License-Identifier: GPL-3.0-or-later
"""Cloth laid flat: gores of a surface, and the patterns of the plies."""
