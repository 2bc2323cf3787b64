# SPDX-License-Identifier: GPL-3.0-or-later
"""How the pieces lie on the printer."""
