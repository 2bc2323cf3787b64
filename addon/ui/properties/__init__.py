# SPDX-License-Identifier: GPL-3.0-or-later
"""Properties of the scene, made from the sheet's own description."""
