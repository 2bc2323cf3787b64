# SPDX-License-Identifier: GPL-3.0-or-later
"""State of a session, properties, and parts that panels and overlays share."""
