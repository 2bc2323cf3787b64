# SPDX-License-Identifier: GPL-3.0-or-later
"""The job sheet: sections, keys, defaults, and the codes of tires."""
