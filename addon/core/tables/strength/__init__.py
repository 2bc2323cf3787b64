# SPDX-License-Identifier: GPL-3.0-or-later
"""How stiff and strong materials are, and what pushes and shakes them."""
