# SPDX-License-Identifier: GPL-3.0-or-later
"""Lines of the bike beside the lines of its fender: how far they match, and the fender bent toward them."""
