# SPDX-License-Identifier: GPL-3.0-or-later
"""Catmull-Clark subdivision of a cage face by face, down to the limit surface."""
