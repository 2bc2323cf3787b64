# SPDX-License-Identifier: GPL-3.0-or-later
"""How much of the tire a fender covers, and where spray goes past it."""
