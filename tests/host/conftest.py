# SPDX-License-Identifier: GPL-3.0-or-later
"""The host is loaded before the tests: bmesh and mathutils can be imported only after it."""

import bpy  # noqa: F401
