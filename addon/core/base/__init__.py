# SPDX-License-Identifier: GPL-3.0-or-later
"""Arrays, errors, tolerances, axes and small formulas that everything stands on."""
