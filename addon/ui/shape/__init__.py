# SPDX-License-Identifier: GPL-3.0-or-later
"""Live shaping: cage, map, section and side views."""
