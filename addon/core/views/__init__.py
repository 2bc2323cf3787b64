# SPDX-License-Identifier: GPL-3.0-or-later
"""Sections, side views, drawings and colors."""
