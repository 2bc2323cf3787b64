# SPDX-License-Identifier: GPL-3.0-or-later
"""Seats, trim and wall on the screen."""
