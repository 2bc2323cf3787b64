# SPDX-License-Identifier: GPL-3.0-or-later
"""Small prints that test measurements before anything large is printed."""
