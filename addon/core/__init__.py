# SPDX-License-Identifier: GPL-3.0-or-later
"""The computations: numpy and the standard library only, no host."""
