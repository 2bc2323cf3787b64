# SPDX-License-Identifier: GPL-3.0-or-later
"""Pages of the build sheet and paper gauges."""
