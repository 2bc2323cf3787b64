# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether the values of a job sheet go together."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from ..base.errors import JobError
from ..base.wheel_axes import station_of
from ..clearance.check_motion import check_motion
from ..clearance.room import check_room
from ..job.job_sheet import Job
from ..laminate.check_laminate import check_laminate
from ..metal.buck_plan import check_metal
from ..pieces.joint import planned_joint
from ..printing.bed_room import check_bed
from ..seat.bore import Bolted, bore_of
from ..seat.mount import mount_frame
from ..seat.seat import Seat
from ..tables.bolt_seats import HARDWARE_OF_NUTS
from ..tables.edge_distance import edge_distance
from ..tables.fasteners import PLAIN_WASHER
from ..tables.printed_wall import least_wall
from ..tire.job_tire import job_tire_size
from ..tire.tire_profile import check_fitted, check_profile
from ..trim.job_trim import drawn_plane_line
from ..wall.job_edges import check_edges
from ..wall.job_wall import wall_at_cut

_RADIUS_OFF = 0.15
_WIDTH_OFF = 0.35
"""Shares by which a measured radius or width may differ from the code's before one of them must be wrong; our choice."""


def check_job(job: Job) -> None:
    """Raise JobError(key, sentence) at the first pair of values of a job that cannot both be right, or cannot be made."""
    check_trim(job)
    check_measured(job)
    check_profile(job)
    check_fitted(job)
    check_motion(job)
    check_heads(job)
    check_bolts(job)
    check_pad(job)
    check_ends(job)
    check_wall(job)
    check_edges(job)
    check_laminate(job)
    check_split(job)
    check_room(job)
    check_bed(job)
    if job.metal is not None:
        check_metal(job.metal)


def check_trim(job: Job) -> None:
    """Lines that are drawn do not cross themselves; whether there is room for them, only the skin can tell."""
    for i, line in enumerate(job.trim_lines):
        if line.view != "drop":
            drawn_plane_line(f"trim_line[{i}]", line)


def check_measured(job: Job) -> None:
    """Measured radius and width against the size code."""
    size = job_tire_size(job)
    for key, measured, nominal, share in (
        ("tire.measured_radius", job.tire.measured_radius, size.nominal_radius_mm, _RADIUS_OFF),
        ("tire.measured_width", job.tire.measured_width, size.section_width_mm, _WIDTH_OFF),
    ):
        if measured is not None and abs(measured - nominal) > share * nominal:
            raise JobError(
                key,
                f"{measured:g} does not go with the size {job.tire.size}, which gives {nominal:.1f}; allowed is "
                f"{(1 - share) * nominal:.0f} to {(1 + share) * nominal:.0f} mm",
            )


def check_heads(job: Job) -> None:
    """The screw heads are on a side that the hardware lets them be on."""
    mount = job.mount
    if mount.heads is None or mount.hardware in HARDWARE_OF_NUTS:
        return
    on_bracket = mount.hardware == "insert"
    only = "outside" if (mount.side == "under") == on_bracket else "inside"
    if mount.heads != only:
        raise JobError(
            "mount.heads",
            f'"{mount.heads}" goes with no "{mount.hardware}" hardware of a fender {mount.side} its plate; allowed is "{only}"',
        )


def check_bolts(job: Job) -> None:
    """No bolt twice, washers side by side, and the seat as wide about each hole as the edge distance rule asks."""
    _check_bolted("mount", job.mount, job.mount.pad, job)
    for i, seat in enumerate(job.seats):
        _check_bolted(f"seat[{i}]", seat, seat.pad, job)


def _check_bolted(key: str, mount: Bolted, pad: float | None, job: Job) -> None:
    bore = bore_of(key, mount)
    wide = max(bore.room, PLAIN_WASHER[mount.thread].outer)
    for (i, one), (j, other) in combinations(enumerate(mount.bolts), 2):
        apart = float(np.hypot(one[0] - other[0], one[1] - other[1]))
        if apart < 1e-6:
            raise JobError(
                f"{key}.bolts[{j}]", f"[{other[0]:g}, {other[1]:g}] is the same as {key}.bolts[{i}]; state each bolt once"
            )
        if apart < wide:
            raise JobError(
                f"{key}.bolts[{j}]",
                f"[{other[0]:g}, {other[1]:g}] is {apart:.1f} mm from {key}.bolts[{i}]; the washers and heads of the list for "
                f"{mount.thread} need {wide:g} mm; choose another {key}.washer, or move them apart",
            )
    least = bore.least_edge_distance + bore.travel
    if pad is not None and pad < least:
        moved = f" that may move {bore.travel:g} mm either way" if bore.travel else ""
        raise JobError(
            f"{key}.pad",
            f"{pad:g} does not reach past what lies on an {mount.thread} bolt{moved}; allowed is {least:g} mm or more from the bolt's "
            "axis, half of washer, head or nut and 1 mm",
        )


def check_pad(job: Job) -> None:
    """The seat lies between the sides of the fender."""
    half = job.cage.half_width
    reach = max(abs(x) for x, _ in job.mount.bolts) + job.mount.pad
    if reach > half:
        raise JobError(
            "cage.half_width",
            f"{half:g} is less than the seat, which reaches {reach:.1f} mm from the center plane; allowed is {reach:.1f} or "
            "more, or a smaller mount.pad",
        )


def check_ends(job: Job) -> None:
    """The fender has a length, and the seat lies between its ends."""
    front, rear = job.cage.front, job.cage.rear
    if front - rear < _SHORTEST_DEG:
        raise JobError("cage.front", f"{front:g} must be at least {_SHORTEST_DEG:g} degrees ahead of cage.rear, {rear:g}")
    if front - rear > _LONGEST_DEG:
        raise JobError(
            "cage.front", f"{front:g} and cage.rear {rear:g} span {front - rear:g} degrees; allowed are {_LONGEST_DEG:g} at most"
        )
    frame = mount_frame(job)
    stations = station_of(frame.to_axes(frame.outline(64)))
    if stations.max() > front:
        raise JobError("cage.front", f"{front:g} cuts the seat, which reaches to station {stations.max():.1f}; it must be more")
    if stations.min() < rear:
        raise JobError("cage.rear", f"{rear:g} cuts the seat, which reaches to station {stations.min():.1f}; it must be less")


_SHORTEST_DEG = 15.0
_LONGEST_DEG = 330.0


def check_wall(job: Job) -> None:
    """The wall is wide enough for the nozzle."""
    least = least_wall(job.printer.nozzle)
    for key in ("front_thickness", "rear_thickness"):
        tip = getattr(job.wall, key)
        if tip is not None and not least <= tip <= job.wall.thickness:
            raise JobError(
                f"wall.{key}",
                f"{tip:g} cannot be: the wall is thickest at the seat, and the nozzle of {job.printer.nozzle:g} mm needs {least:g}; "
                f"allowed is {least:g} to {job.wall.thickness:g} mm, the wall.thickness",
            )
    for key in ("thickness", "painted_thickness"):
        mm = getattr(job.wall, key)
        if mm is None or mm >= least:
            continue
        raise JobError(
            f"wall.{key}",
            f"{mm:g} cannot be printed with a nozzle of {job.printer.nozzle:g} mm; allowed is {least:g} mm or more",
        )


def check_split(job: Job) -> None:
    """Bolts keep their edge distance from the cut and its joint, and half a wall can be printed: by the joint's own rule."""
    frame = mount_frame(job)
    seat = Seat(frame.origin, frame.x, frame.forward, frame.up, frame.bolts_uv, frame.pad, job.mount.blend)
    distance, bore = edge_distance(job.mount.thread, job.laminate is not None), bore_of("mount", job.mount)
    planned_joint(job.split, seat, wall_at_cut(job), distance, job.printer.nozzle, bore.slots, bore.least_edge_distance)
