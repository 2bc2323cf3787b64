# SPDX-License-Identifier: GPL-3.0-or-later
"""How a fender is fitted to the bike, and what is checked before the first ride."""

from __future__ import annotations

from ..job.job_sheet import Job
from .bolt_list import BoltList
from .use_cautions import SCREW_LOCK


def fitting_steps(job: Job, bolts: BoltList, pieces: int, pins: int, keys: int) -> tuple[str, ...]:
    """Sentences in the order of the work. pieces, pins, keys : number of printed pieces, of dowel pins and keys in their joints"""
    under = job.mount.side == "under"
    steps = ["Bike upright on level ground, front wheel in the air and free to spin, old fender off, mount face clean and flat."]
    if job.wheel.position == "rear":
        steps[0] = "Bike upright on a stand, rear wheel in the air and free to spin, old fender off, mount face clean and flat."
    steps.append("Take off supports and brim, round every edge that a hand or a hose can reach, clear the holes to size by hand.")
    if pieces > 2:
        steps.append(
            "Glue what was cut again to its half, as the cautions say; roughen the faces first and let it cure in shape."
        )
    if pieces > 1:
        fit = f"a gap of {job.split.fit:g} mm is meant to be there" if job.split.joint != "butt" else "the faces meet flat"
        way = "push the pieces together straight, the keys under the other piece" if keys else "put the pieces together"
        steps.append(
            f"Off the bike, {way}: the joint must close by hand without force; {fit}. Leave the lip of the outer line square: rounded, "
            "it would gape."
        )
    face = "under the bracket's plate, outer face against it" if under else "on the bracket's plate, inner face against it"
    steps.append(f"Hold the fender {face}; the seat must bear all over without rocking. Do not pull a gap shut with the screws.")
    inside, outside = ("nuts", "heads") if under == bolts.nut_on_fender else ("heads", "nuts")
    where = f"{inside} on the inside, {outside} on the {'plate' if under else 'outside'}"
    on_print = "nuts" if bolts.nut_on_fender else "heads"
    washers = f"{bolts.washer} washers under the {on_print}" if bolts.washer else f"no washer under the {on_print}"
    if job.mount.hardware == "insert":
        where, washers = "from the bracket's side into the inserts", "washers on the plate"
        face = "inner" if under else "outer"
        steps.insert(
            2,
            f"Set the inserts hot from the fender's {face} face, square and flush to the bottom of the pockets, before fitting; try "
            "heat and hole on a scrap first.",
        )
    steps.append(
        f"Put in {bolts.count} screws {bolts.thread}, {where}, {washers}. Tighten crosswise until the washers "
        "just stop turning by hand and a little more: plastic creeps, so do not crush it. Lock nuts are used once."
    )
    if pins:
        steps.append(
            f"With the screws snug and the joint line straight, press the {pins} pins of {job.split.pin:g} mm into their holes, flush "
            "on both faces; a drop of epoxy on the inner face holds each."
        )
    steps.append(SCREW_LOCK)
    steps.append("Measure the gaps of the table below with feelers or drill shanks, and write them down.")
    steps.append("Ride a short way slowly, stop, look for marks of rubbing, check all screws; again after the first longer ride.")
    return tuple(steps)


def fitting_checks(job: Job) -> tuple[str, ...]:
    """Lines with a box to tick."""
    common = (
        "Wheel spun by hand, three turns each way: no touch, no rub, no sound",
        "Full bump with the springs out: no touch of tire, fender, frame, radiator, exhaust",
        "Full rebound, wheel hanging: no touch, no hose or cable pulled",
        "Brake hose and speed sensor cable run free, not held by an edge of the fender",
        "Fender pushed by hand on each tip and each side: no touch of the tire",
        "Every screw in, washers in place, nuts past the thread, marked with paint",
        "No crack, no open layer, no white line around the holes",
        "Gaps measured and written down, none under the least allowed",
        "Local rules on fenders and modified vehicles looked up",
        "After the first ride: gaps and screws checked again",
        "Noted on the bike: a new tire, wheel or mount needs a new check",
    )
    front = ("Bars to full lock left and right, wheel straight and turned: no touch",)
    rear = ("Chain adjusted fully forward and fully rearward: no touch; chain, guard and brake caliper clear",)
    where = front if job.wheel.position == "front" else rear
    return (*common[:1], *where, *common[1:])
