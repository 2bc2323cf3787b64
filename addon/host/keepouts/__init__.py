# SPDX-License-Identifier: GPL-3.0-or-later
"""Keep-outs that are meshes: files and objects, and their bodies."""
