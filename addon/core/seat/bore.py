# SPDX-License-Identifier: GPL-3.0-or-later
"""What is bored at a bolt: hole, slot, and the recess for its head, washer or insert."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from ..base.arrays import Array, frozen
from ..base.errors import JobError
from ..tables.bolt_seats import DROP_IN, EDGE_BREAK, FLAT_DEPTH, LEAST_PLAIN_PART, LEAST_UNDER_HEAD, RUBBER_MM, SUNK
from ..tables.edge_distance import WASHER_EXTRA_MM
from ..tables.fasteners import (
    BUTTON_HEAD,
    CLEARANCE_HOLE,
    COUNTERSUNK_HEAD,
    LARGE_WASHER,
    PLAIN_WASHER,
    SOCKET_HEAD,
    Head,
    Washer,
)
from ..tables.inserts import HEAT_SET_INSERT, pocket_depth
from ..tables.nuts import LOCK_NUT_ACROSS_CORNERS

LONGEST_SLOT = 40.0
"""Most that a slot may let a bolt move, mm."""


class Bolted(Protocol):
    """Bolts of a seat, as the sheet states them for the mount and for each further seat."""

    @property
    def bolts(self) -> tuple[tuple[float, float], ...]: ...
    @property
    def thread(self) -> str: ...
    @property
    def fit(self) -> str: ...
    @property
    def hardware(self) -> str: ...
    @property
    def washer(self) -> str | None: ...
    @property
    def recess(self) -> float | None: ...
    @property
    def slots(self) -> tuple[tuple[float, float], ...] | None: ...
    @property
    def nut_on_fender(self) -> bool: ...


@dataclass(frozen=True, eq=False)
class Bore:
    """What is bored at each bolt of a seat, mm.

    The recess opens to the free face of the wall, the one that does not bear on the bracket: the inner face of a fender under
    its plate (toward the tire), the outer face of one over it. Head, washer or insert go in from there; the nut, or the screw
    of an insert, is on the bracket.

    hole : diameter, ISO 273; recess : diameter at the free face, 0 for none; cone : True if it narrows to the hole at 90 degrees
    depth : of the recess, or of the cone's sharp edge, under the lowest place of the free face around the bolt
    floor : least wall that must stay between the recess and the bracket; room : diameter of what must reach the bolt straight
    slots : (b, 2) float, half of the way that each bolt may move, along x and forward; zero for a round hole
    """

    hole: float
    recess: float
    depth: float
    cone: bool
    floor: float
    room: float
    slots: Array

    @property
    def widest(self) -> float:
        """Largest diameter that is cut."""
        return max(self.hole, self.recess)

    @property
    def mouth_break(self) -> float:
        """How far its mouth in the free face is broken, mm; 0 for a hole that lies under its head or washer.

        The other mouth lies on the bracket. A slot is reached where it goes on beyond what lies on it.
        """
        if self.cone:
            return min(EDGE_BREAK, self.depth)
        if self.recess:
            return min(EDGE_BREAK, 0.5 * self.depth)
        return EDGE_BREAK if 2.0 * self.travel + 0.5 * self.hole > 0.5 * self.room else 0.0

    @property
    def least_edge_distance(self) -> float:
        """From a bolt's axis to an edge, mm, that its washer, head or nut needs under it, with a millimeter beyond."""
        return 0.5 * max(self.room, self.widest) + WASHER_EXTRA_MM

    @property
    def travel(self) -> float:
        """Longest half way of a bolt in its slot."""
        return float(np.linalg.norm(self.slots, axis=1).max())


def bore_of(key: str, bolted: Bolted) -> Bore:
    """The bore that a seat asks for. key : dotted name of its section, such as "mount"

    Raises JobError where its choices do not go together.
    """
    thread, kind = bolted.thread, bolted.hardware
    hole = CLEARANCE_HOLE[thread][bolted.fit]
    washer = washer_under_head(key, bolted)
    head = head_of(bolted)
    lies = LOCK_NUT_ACROSS_CORNERS[thread] if bolted.nut_on_fender else head.diameter
    under = max(lies, washer.outer if washer else 0.0)
    slots = frozen(_half_ways(key, bolted))
    depth = bolted.recess
    if kind == "plain":
        _refuse_recess(key, bolted)
        return Bore(hole, 0.0, 0.0, False, 0.0, under, slots)
    if kind == "insert":
        _refuse_recess(key, bolted)
        if thread not in HEAT_SET_INSERT:
            known = ", ".join(HEAT_SET_INSERT)
            raise JobError(f"{key}.hardware", f'"insert" has no heat-set insert for {thread} in its table; allowed are {known}')
        if slots.any():
            raise JobError(f"{key}.slots", 'go with no "insert"; allowed are round holes, or slots in the bracket')
        insert = HEAT_SET_INSERT[thread]
        return Bore(hole, insert.pilot, pocket_depth(thread), False, LEAST_PLAIN_PART, insert.outer, slots)
    if kind == "countersink":
        sharp = COUNTERSUNK_HEAD[thread].sharp_diameter
        return Bore(hole, sharp, SUNK if depth is None else depth, True, LEAST_PLAIN_PART, sharp, slots)
    if depth is None:
        depth = FLAT_DEPTH if kind == "washer_flat" else head.height + (washer.thickness if washer else 0.0)
    return Bore(hole, under + DROP_IN, depth, False, LEAST_UNDER_HEAD, under, slots)


def washer_under_head(key: str, bolted: Bolted) -> Washer | None:
    """The washer between head and print, with the rubber one under it where that is stated: as stated, else a large one (ISO 7093) under a head that is not sunk, and none else."""
    kind, stated = bolted.hardware, bolted.washer
    if kind in ("countersink", "insert"):
        if stated not in (None, "none"):
            raise JobError(f"{key}.washer", f'"{stated}" has no place with the hardware "{kind}"; allowed is "none"')
        return None
    usual = "none" if kind == "counterbore" else "large"
    large = LARGE_WASHER[bolted.thread]
    table = {
        "none": None,
        "plain": PLAIN_WASHER[bolted.thread],
        "large": large,
        "rubber": replace(large, thickness=large.thickness + RUBBER_MM),
    }
    return table[stated or usual]


def head_of(bolted: Bolted) -> Head:
    """The head that the list of screws to buy has: a socket head in a counterbore, a button head everywhere else."""
    return (SOCKET_HEAD if bolted.hardware == "counterbore" else BUTTON_HEAD)[bolted.thread]


def _refuse_recess(key: str, bolted: Bolted) -> None:
    if bolted.recess is not None:
        raise JobError(
            f"{key}.recess",
            f'{bolted.recess:g} goes with no "{bolted.hardware}" hardware; allowed with "counterbore", "countersink", "washer_flat"',
        )


def _half_ways(key: str, bolted: Bolted) -> Array:
    """(b, 2) half of the way in each slot; a turn is from the way forward toward the rider's left."""
    count = len(bolted.bolts)
    slots = bolted.slots or ((0.0, 0.0),)
    if len(slots) not in (1, count):
        raise JobError(f"{key}.slots", f"holds {len(slots)} slots for {count} bolts; allowed is one for all, or one a bolt")
    for i, (way, _) in enumerate(slots):
        if not 0.0 <= way <= LONGEST_SLOT:
            raise JobError(f"{key}.slots[{i}][0]", f"{way:g} is out of range; allowed is a way from 0 to {LONGEST_SLOT:g} mm")
    way, turn = np.array(slots if len(slots) == count else slots * count, dtype=np.float64).T
    angle = np.radians(turn)
    return np.asarray(0.5 * way[:, None] * np.stack([np.sin(angle), np.cos(angle)], axis=1))
