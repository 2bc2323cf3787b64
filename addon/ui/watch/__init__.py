# SPDX-License-Identifier: GPL-3.0-or-later
"""Watching the cage and what it depends on: one step after a change, the rest when nothing moves."""
