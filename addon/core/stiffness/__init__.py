# SPDX-License-Identifier: GPL-3.0-or-later
"""How stiff a fender is: its wall as a shell that is held by bolts."""
