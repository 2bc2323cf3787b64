# SPDX-License-Identifier: GPL-3.0-or-later
"""Triangle meshes and open surfaces: edges, refinement, cuts, rays, cleaning."""
