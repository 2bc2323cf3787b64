# SPDX-License-Identifier: GPL-3.0-or-later
"""A body with the clearance that is kept from it."""

from __future__ import annotations

from dataclasses import dataclass

from ..bodies.body import Body
from .motion import Motion

TIRE = "tire"


@dataclass(frozen=True, eq=False)
class Limit:
    """A body and the distance that is to be kept from it, mm.

    bears : True for a body that the part is bolted to: its excess counts only where it is broken, since 0 is where it belongs
    still, motion : of one that moves against the fender, its body where it was measured, and how it moves
    image : True for the mirror image of another, which keeps the half that is shaped clear of what lies on the other side
    """

    name: str
    body: Body
    required_mm: float
    bears: bool = False
    still: Body | None = None
    motion: Motion | None = None
    image: bool = False

    @property
    def moves(self) -> bool:
        """True if it moves against the fender, besides spinning."""
        return self.motion is not None and self.motion.moves
