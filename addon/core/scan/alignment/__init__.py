# SPDX-License-Identifier: GPL-3.0-or-later
"""A scan laid on the wheel axes, its numbers and residuals."""
