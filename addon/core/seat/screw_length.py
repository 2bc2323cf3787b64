# SPDX-License-Identifier: GPL-3.0-or-later
"""What a screw passes from its head to its end, and the length to buy."""

from __future__ import annotations

import numpy as np

from ..tables.bolt_seats import LEAST_ENGAGEMENT
from ..tables.fasteners import LARGE_WASHER, NOMINAL_DIAMETER, PLAIN_WASHER, Washer
from ..tables.inserts import pocket_depth
from ..tables.nuts import LENGTHS, LOCK_NUT_HEIGHT, PITCH, PITCHES_PAST_NUT


def nut_stack(thread: str, washer: Washer | None, name: str, grip: float, plate: float | None) -> list[tuple[str, float]]:
    """(name, mm) of all that a screw with a nut passes. washer : on the print; name, grip : of the print; plate : None if not stated"""
    return [
        *([(f"{washer_name(thread, washer)} washer on the print", washer.thickness)] if washer else []),
        (name, grip),
        *([("bracket's plate", plate)] if plate is not None else []),
        ("plain washer on the plate", PLAIN_WASHER[thread].thickness),
        ("lock nut", LOCK_NUT_HEIGHT[thread]),
        (f"{PITCHES_PAST_NUT} pitches past the nut", PITCHES_PAST_NUT * PITCH[thread]),
    ]


def insert_stack(thread: str, name: str, grip: float, plate: float | None) -> list[tuple[str, float]]:
    """The same for a screw from the bracket into an insert."""
    return [
        ("plain washer on the plate", PLAIN_WASHER[thread].thickness),
        *([("bracket's plate", plate)] if plate is not None else []),
        (name, grip),
        ("least thread in the insert", LEAST_ENGAGEMENT * NOMINAL_DIAMETER[thread]),
    ]


def sold_length(thread: str, hardware: str, least: float) -> int | None:
    """The next length that is sold, mm; in an insert only if its end stays in the pocket."""
    longer = [length for length in LENGTHS if length >= least]
    if not longer:
        return None
    spare = pocket_depth(thread) - LEAST_ENGAGEMENT * NOMINAL_DIAMETER[thread] if hardware == "insert" else np.inf
    return longer[0] if longer[0] <= least + spare else None


def past_nut(thread: str, washer: Washer | None, grip: float, plate: float | None) -> float:
    """How far the end of the screw that is bought stands past its nut, mm; the least where the plate is not stated."""
    least = PITCHES_PAST_NUT * PITCH[thread]
    stack = sum(mm for _, mm in nut_stack(thread, washer, "", grip, plate))
    length = None if plate is None else sold_length(thread, "plain", stack)
    return least if length is None else least + length - stack


def washer_name(thread: str, washer: Washer | None) -> str:
    """ "large" (ISO 7093), "plain" (ISO 7089), "large on rubber", or "" for none."""
    if washer is None:
        return ""
    on_rubber = washer.thickness > LARGE_WASHER[thread].thickness
    return "large on rubber" if on_rubber else "large" if washer == LARGE_WASHER[thread] else "plain"
