# SPDX-License-Identifier: GPL-3.0-or-later
"""From the skin to closed pieces: wall, seat, rim, holes, split."""
