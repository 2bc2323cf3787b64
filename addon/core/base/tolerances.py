# SPDX-License-Identifier: GPL-3.0-or-later
"""Every tolerance of the computations, in one place."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Tolerances:
    """Lengths in mm, angles in degrees."""

    clear: float = 0.001
    """A skin sample may be this much under its required clearance."""
    proof: float = 0.01
    """The proven bound of the least clearance is this close to the least clearance."""
    turned_proof: float = 0.1
    """The same for heads and nuts over bodies that are not convex, such as those that turn and are swept within 0.2 mm."""
    chord: float = 0.02
    """Largest distance between the facets of the solid and the true skin."""
    on_plane: float = 1e-4
    """Cage points this close to the mirror plane lie on it."""
    weld: float = 1e-6
    """Points closer than this are one point."""
    shortest_edge: float = 2e-4
    """Shorter edges collapse before a file is written: float32 steps are 3e-5 from 256 to 512 mm."""
    simplify: float = 2e-4
    """Points that the surface of a finished part does not need to within this are taken out: six roundings of a file."""


TOLERANCES = Tolerances()
