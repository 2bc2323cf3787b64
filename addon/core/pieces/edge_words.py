# SPDX-License-Identifier: GPL-3.0-or-later
"""What the least radius of the edges covers, and what becomes of the edges that it does not."""

from __future__ import annotations

from collections.abc import Sequence

from ..seat.placed_seat import PlacedSeat
from .joint import Joint

COVERED = "front, rear, sides and openings of the fender, measured"


def bore_words(seats: Sequence[PlacedSeat], breaks: Sequence[float]) -> tuple[str, ...]:
    """A phrase on the edges of each seat's bores. breaks : mm, of each"""
    return tuple(f"{placed.name}: {_bore(placed, broken)}" for placed, broken in zip(seats, breaks, strict=True))


def _bore(placed: PlacedSeat, broken: float) -> str:
    if broken > 0.0:
        what = "recesses" if placed.bore.recess else "slots"
        return f"mouths of the {what} broken by {broken:.2g} mm, the other ends on the bracket"
    if placed.bore.mouth_break > 0.0:
        return "mouths left sharp, the face is uneven or the bolts too near to each other: break them by hand"
    return "holes as drilled, under heads or washers and on the bracket"


def joint_words(joint: Joint | None) -> str:
    """A phrase on the edges at the joints. They are left as cut: a broken lip would open the line on the outside."""
    if joint is None:
        return "no joint"
    return f"left as cut, so that the line on the outside is no wider than the fit of {joint.fit:g} mm; take off only what stands out"
