# SPDX-License-Identifier: GPL-3.0-or-later
"""Screws, nuts and washers to buy for a fender, with the length that the parts between them add up to."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .arrays import Array
from .body import Body
from .job_sheet import Job
from .mount import MountFrame
from .solid.triangle_mesh import TriangleMesh
from .tables.fasteners import BUTTON_HEAD, CLEARANCE_HOLE, LARGE_WASHER, PLAIN_WASHER
from .tables.nuts import LENGTHS, LOCK_NUT_HEIGHT, PITCH, PITCHES_PAST_NUT

_RIM_MM = 0.2
"""Vertices so near to the wall of a hole are on its rim."""


@dataclass(frozen=True)
class BoltList:
    """What to buy.

    count : of screws; thread; grip_mm : greatest thickness of the fender at a hole, the wall's nominal one where no plain hole is
    found; plate_mm : None if not stated
    stack : (name, mm) of all that the screw passes, plate left out if not stated; least_mm : their sum
    length_mm : to buy; None where the plate is not stated or nothing so long is sold; head_room_mm : between the screw heads or
    nuts on the inside and the tire at its largest, None if nothing is there
    """

    count: int
    thread: str
    grip_mm: float
    plate_mm: float | None
    stack: tuple[tuple[str, float], ...]
    least_mm: float
    length_mm: int | None
    head_room_mm: float | None


def bolt_list(job: Job, frame: MountFrame, whole: TriangleMesh, tire: Body) -> BoltList:
    """The screws of the mount: button head on the tire's side where the fender lies under the plate, so that least stands in.

    whole : the fender with its holes, wheel axes, mm; tire : at its largest
    """
    thread = job.mount.thread
    grips = [grip_at(whole, bolt, frame.up, CLEARANCE_HOLE[thread][job.mount.fit]) for bolt in frame.bolts]
    found = [grip for grip in grips if grip is not None]
    thickness = max((high - low for low, high in found), default=job.wall.thickness)
    plate = job.mount.plate[2] if job.mount.plate is not None else None
    stack = [
        ("large washer on the print", LARGE_WASHER[thread].thickness),
        ("fender, measured at the holes" if found else "fender, nominal", thickness),
    ]
    if plate is not None:
        stack.append(("bracket's plate", plate))
    stack += [
        ("plain washer on the plate", PLAIN_WASHER[thread].thickness),
        ("lock nut", LOCK_NUT_HEIGHT[thread]),
        (f"{PITCHES_PAST_NUT} pitches past the nut", PITCHES_PAST_NUT * PITCH[thread]),
    ]
    least = sum(mm for _, mm in stack)
    longer = [length for length in LENGTHS if length >= least]
    room = _head_room(job, frame, thickness, tire) if job.mount.side == "under" else None
    return BoltList(
        count=len(frame.bolts),
        thread=thread,
        grip_mm=thickness,
        plate_mm=plate,
        stack=tuple(stack),
        least_mm=least,
        length_mm=longer[0] if longer and plate is not None else None,
        head_room_mm=room,
    )


def grip_at(whole: TriangleMesh, bolt: Array, up: Array, hole: float) -> tuple[float, float] | None:
    """Lowest and highest point of the rims of a hole, mm over the bolt's place along `up`.

    bolt : (3,) float, on the hole's axis; up : (3,) float, its direction, unit; hole : diameter, mm
    None if the mesh has no hole of that size there.
    """
    offset = whole.vertices - bolt
    height = offset @ up
    away = np.linalg.norm(offset - height[:, None] * up, axis=1)
    rim = height[(np.abs(away - 0.5 * hole) < _RIM_MM) & (np.abs(height) < 10.0 * hole)]
    if len(rim) < 3:
        return None
    return float(rim.min()), float(rim.max())


def _head_room(job: Job, frame: MountFrame, thickness: float, tire: Body) -> float:
    head = BUTTON_HEAD[job.mount.thread]
    depth = LARGE_WASHER[job.mount.thread].thickness + head.height
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)[:, None]
    ring = 0.5 * head.diameter * (np.cos(turn) * frame.x + np.sin(turn) * frame.forward)
    tops = [bolt - (thickness + depth) * frame.up + ring for bolt in frame.bolts]
    return float(tire.distance(np.concatenate(tops)).min())
