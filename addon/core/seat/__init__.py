# SPDX-License-Identifier: GPL-3.0-or-later
"""Where the fender bears: mount frame, bolts, pads, extra mounts."""
