# SPDX-License-Identifier: GPL-3.0-or-later
"""How stiff a fender is: flat triangular shell elements, bending and natural frequencies."""
