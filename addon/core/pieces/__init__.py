# SPDX-License-Identifier: GPL-3.0-or-later
"""Joints, pins, keys, holes: how the part is split and bolted."""
