# SPDX-License-Identifier: GPL-3.0-or-later
"""Between the host's data and the arrays of core."""

# As a Python module the host brings bmesh and mathutils with it: they can be imported only after it.
import bpy  # noqa: F401
