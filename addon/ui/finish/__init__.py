# SPDX-License-Identifier: GPL-3.0-or-later
"""Finish, print and safety on the screen."""
