# SPDX-License-Identifier: GPL-3.0-or-later
"""A scan as it is read, and the marks on it."""
