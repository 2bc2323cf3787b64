# SPDX-License-Identifier: GPL-3.0-or-later
"""The wall around the skin: thickness, rim, ribs, and its checks."""
