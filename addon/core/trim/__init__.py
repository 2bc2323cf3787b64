# SPDX-License-Identifier: GPL-3.0-or-later
"""Trim: what is cut from the skin before it gets its wall."""
