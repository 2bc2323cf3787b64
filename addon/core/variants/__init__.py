# SPDX-License-Identifier: GPL-3.0-or-later
"""Several shapes for one job, compared."""
