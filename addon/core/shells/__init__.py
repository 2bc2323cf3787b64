# SPDX-License-Identifier: GPL-3.0-or-later
"""Shells of flat triangles: how they give way to forces, what they swing at, how they are stressed."""
