# SPDX-License-Identifier: GPL-3.0-or-later
"""Scans on the screen."""
