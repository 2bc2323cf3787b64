# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether a sheet states the motion that its fender and keep-outs need, and what stays unknown."""

from __future__ import annotations

from ..base.errors import JobError
from ..job.job_sheet import Job
from .bike_geometry import swingarm
from .motion import motion_of

_WHY = {
    "steering": "on the lower triple clamp the wheel travels toward the fender",
    "frame": "on the frame the wheel moves under the fender",
}


def check_motion(job: Job) -> None:
    """Raise JobError if the fender's carrier needs a motion that is not stated, or one of them is impossible."""
    carrier, front, travel = job.mount.carried_by, job.wheel.position == "front", job.travel
    if carrier == "steering" and not front:
        raise JobError("mount.carried_by", '"steering" goes with a front wheel only; allowed are "axle" and "frame"')
    if travel.head is not None and travel.fork_offset is not None:
        raise JobError("travel.fork_offset", f"{travel.fork_offset:g} is stated beside travel.head; state one of them")
    if not front:
        swingarm(job)
    for key in _needed(carrier, front):
        if all(getattr(travel, one) is None for one in key):
            raise JobError(
                f"travel.{key[0]}", f"is missing; {_WHY[carrier]}, so it must be stated{_or(key)}; measure it, 0 for none"
            )
    motion = motion_of(job, "wheel" if carrier != "axle" else "chassis")
    if motion.arm is not None:
        for mm in motion.travel_mm:
            motion.arm.turn_deg(mm)


def _needed(carrier: str, front: bool) -> tuple[tuple[str, ...], ...]:
    """Keys of the travel, of each group one, that a carrier cannot do without."""
    if carrier == "axle":
        return ()
    if not front:
        return (("bump",), ("rebound",), ("pivot", "swingarm"))
    steered = (("lock",), ("fork_offset", "head")) if carrier == "frame" else ()
    return (("bump",), ("rebound",), ("fork_rake",), *steered)


def _or(key: tuple[str, ...]) -> str:
    return f", or travel.{key[1]}" if len(key) > 1 else ""


def motion_cautions(job: Job) -> tuple[str, ...]:
    """What was checked where it stands only, because its motion is not stated, by name."""
    travel, said = job.travel, []
    for section in job.keepouts:
        motion = motion_of(job, section.moves_with)
        unknown = []
        if motion.slides:
            unknown += [key for key in ("bump", "rebound") if getattr(travel, key) is None]
            if job.wheel.position == "rear" and motion.arm is None and travel.bump:
                unknown.append("pivot")
            if job.wheel.position == "front" and travel.fork_rake is None:
                unknown.append("fork_rake")
        if motion.steers:
            unknown += [key for key in ("lock",) if travel.lock is None]
        if unknown:
            listed = ", ".join(f"travel.{key}" for key in unknown)
            said.append(
                f'"{section.name}" moves against the fender, but {listed} {"is" if len(unknown) == 1 else "are"} not stated: it was '
                "checked without that motion; state it, or check by hand."
            )
    return tuple(said)
