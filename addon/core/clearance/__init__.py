# SPDX-License-Identifier: GPL-3.0-or-later
"""What the fender must stay clear of, by how much, and the proof."""
