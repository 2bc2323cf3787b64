# SPDX-License-Identifier: GPL-3.0-or-later
"""Between the host's data and the arrays of core."""
