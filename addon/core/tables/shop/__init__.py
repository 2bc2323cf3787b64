# SPDX-License-Identifier: GPL-3.0-or-later
"""Figures of the workshop beside the printer."""
