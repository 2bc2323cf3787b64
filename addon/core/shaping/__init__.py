# SPDX-License-Identifier: GPL-3.0-or-later
"""Guard, shaper and seed: how the cage moves."""
