# SPDX-License-Identifier: GPL-3.0-or-later
"""Screws, nuts and washers to buy for a fender, with the length that the parts between them add up to."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..job.job_sheet import Job
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.bore import Bolted, bore_of, washer_under_head
from ..seat.mount import MountFrame
from ..seat.placed_seat import PlacedSeat
from ..seat.screw_length import insert_stack, nut_stack, sold_length, washer_name
from ..tables.bolt_seats import RUBBER_MM
from ..tables.fasteners import Washer
from ..tables.inserts import HEAT_SET_INSERT

_RIM_MM = 0.2
"""Vertices so near to the wall of a hole are on its rim."""


@dataclass(frozen=True)
class BoltList:
    """What to buy.

    count : of screws; thread; grip_mm : greatest thickness of the fender between head and bracket, the wall's nominal one where no
    such hole is found; plate_mm : None if not stated; washer : "large" or "plain" under the head, "" for none
    items : (what, standard) to buy, count of each, the screw first and without its length
    stack : (name, mm) of all that the screw passes, plate left out if not stated; least_mm : their sum
    length_mm : to buy; None where the plate is not stated or nothing so long is sold
    nut_on_fender : True if the nuts are on the fender and the heads on the bracket
    """

    count: int
    thread: str
    grip_mm: float
    plate_mm: float | None
    washer: str
    items: tuple[tuple[str, str], ...]
    stack: tuple[tuple[str, float], ...]
    least_mm: float
    length_mm: int | None
    nut_on_fender: bool


def bolt_list(job: Job, frame: MountFrame, whole: TriangleMesh) -> BoltList:
    """The screws of the mount. whole : the fender with its holes, wheel axes, mm"""
    mount = job.mount
    ends = frame.to_axes(frame.bolts_uv + bore_of("mount", mount).slots)
    plate = mount.plate[2] if mount.plate is not None else None
    return _listed("mount", mount, ends, frame.up, whole, plate, job.wall.thickness)


def seat_bolt_list(placed: PlacedSeat, whole: TriangleMesh, thickness: float) -> BoltList:
    """The screws of a further seat. whole : as in bolt_list; thickness : of the wall, mm"""
    ends = placed.seat.place(placed.seat.bolts + placed.bore.slots)
    return _listed(placed.seat.key, placed.bolted, ends, placed.seat.normal, whole, placed.bracket, thickness)


def _listed(
    key: str, bolted: Bolted, ends: Array, up: Array, whole: TriangleMesh, plate: float | None, thickness: float
) -> BoltList:
    """ends : (b, 3) float, on the plane, an end of each slot; up : (3,) float, unit, square to it"""
    thread, bore = bolted.thread, bore_of(key, bolted)
    grips = [grip_at(whole, end, up, bore.hole, 0.0 if bore.recess else bore.mouth_break) for end in ends]
    found = [high - low for low, high in (grip for grip in grips if grip is not None)]
    grip = max(found, default=thickness) + (0.5 * (bore.recess - bore.hole) if bore.cone and found else 0.0)
    name = "fender, measured at the holes" if found else "fender, nominal"
    washer = washer_under_head(key, bolted)
    stack = (
        insert_stack(thread, name, grip, plate) if bolted.hardware == "insert" else nut_stack(thread, washer, name, grip, plate)
    )
    least = sum(mm for _, mm in stack)
    return BoltList(
        count=len(ends),
        thread=thread,
        grip_mm=grip,
        plate_mm=plate,
        washer=washer_name(thread, washer),
        items=_items(bolted.hardware, thread, washer),
        stack=tuple(stack),
        least_mm=least,
        length_mm=None if plate is None else sold_length(thread, bolted.hardware, least),
        nut_on_fender=bolted.nut_on_fender,
    )


def _items(hardware: str, thread: str, washer: Washer | None) -> tuple[tuple[str, str], ...]:
    name, standard = {"counterbore": ("socket head", "ISO 4762"), "countersink": ("countersunk", "ISO 10642")}.get(
        hardware, ("button head", "ISO 7380-1")
    )
    screw = (f"{name} screw {thread}", f"{standard}, stainless or zinc plated")
    plate = (f"plain washer {thread}, on the plate", "ISO 7089")
    if hardware == "insert":
        insert = HEAT_SET_INSERT[thread]
        return screw, (f"heat-set insert {thread}, {insert.length:g} mm long", f"for a pilot hole of {insert.pilot:g} mm"), plate
    return screw, (f"lock nut {thread} with nylon ring", "ISO 7040"), *_under(thread, washer), plate


def _under(thread: str, washer: Washer | None) -> tuple[tuple[str, str], ...]:
    """The washers between head or nut and print."""
    name = washer_name(thread, washer)
    if washer is None:
        return ()
    if name == "plain":
        return ((f"plain washer {thread}, on the print", "ISO 7089"),)
    large = (f"large washer {thread}, on the print", "ISO 7093")
    if name == "large":
        return (large,)
    return large, (
        f"rubber washer {washer.outer:g} x {RUBBER_MM:g} mm for {thread}, under the large one",
        "soft enough to give by hand",
    )


def grip_at(whole: TriangleMesh, bolt: Array, up: Array, hole: float, broken: float = 0.0) -> tuple[float, float] | None:
    """Lowest and highest point of the rims of a hole, mm over the bolt's place along `up`.

    bolt : (3,) float, on the hole's axis; up : (3,) float, its direction, unit; hole : diameter, mm
    broken : how far its rim is broken, mm
    None if the mesh has no hole of that size there.
    """
    offset = whole.vertices - bolt
    height = offset @ up
    away = np.linalg.norm(offset - height[:, None] * up, axis=1)
    wider = away - 0.5 * hole
    rim = height[(wider > -_RIM_MM) & (wider < _RIM_MM + broken) & (np.abs(height) < 10.0 * hole)]
    if len(rim) < 3:
        return None
    return float(rim.min()), float(rim.max())
