# SPDX-License-Identifier: GPL-3.0-or-later
"""Panels, operators, overlays and handlers."""
