# SPDX-License-Identifier: GPL-3.0-or-later
"""Job sheet and hand readings on the screen."""
