# SPDX-License-Identifier: GPL-3.0-or-later
"""Marks on paper and in pixels: drawings, lettering, flat parts, the raster of pictures."""
