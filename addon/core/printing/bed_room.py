# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether the printer's bed can hold any piece of the fender at all, before one is made."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError
from ..base.wheel_axes import point_at, station_of
from ..clearance.budget import budget
from ..job.job_sheet import Job
from ..seat.mount import mount_frame
from ..tire.tire_profile import tire_profile

_TURNS_DEG = np.arange(0.0, 180.0, 7.5)
_SLACK = 1.03
"""The search turns in steps, so that it may miss the best turn by 7.5 / 2 degrees; this much is let pass, and the finished
halves are searched finely."""

_STATIONS = 9


def check_bed(job: Job) -> None:
    """JobError("printer.bed", ...) if no piece of this fender can lie on the bed, whichever way it is turned.

    The thin sheet that the section spans over one bolt's seat is less than any piece with a bolt in it; if not even that fits,
    no split helps. Names the split that would fit, if another one does. Whether the halves as they are fit is found out on the
    finished pieces.
    """
    usable = np.array(job.printer.bed) - np.array([2.0, 2.0, 1.0]) * job.printer.margin
    if usable.min() <= 0.0:
        raise JobError("printer.margin", f"{job.printer.margin:g} on each side leaves nothing of the bed {_by(job.printer.bed)}")
    if fits_somehow(least_piece(job, job.split.plane), usable):
        return
    others = [plane for plane in ("across", "along") if plane != job.split.plane]
    fitting = [plane for plane in others if fits_somehow(least_piece(job, plane), usable)]
    size = " x ".join(f"{side:.0f}" for side in np.ptp(least_piece(job, job.split.plane), axis=0))
    if fitting:
        raise JobError("split.plane", f'"{job.split.plane}" leaves a piece too big for the bed; "{fitting[0]}" would fit')
    raise JobError(
        "printer.bed",
        f"{_by(job.printer.bed)} less a margin of {job.printer.margin:g} is too small for any split of this fender: "
        f"a piece about one bolt alone spans {size} mm",
    )


def least_piece(job: Job, plane: str) -> Array:
    """Points (n, 3) float, mm, wheel axes, that a piece with a bolt in it must contain at least, for a split plane.

    The middle line runs over the crown at the required distance, the edges hang below it by the side drop.
    """
    frame = mount_frame(job)
    radius = float(tire_profile(job).largest[0, 1]) + budget(job).required_mm
    middle = float(station_of(frame.origin))
    reach = float(np.degrees(frame.pad / radius))
    cage = job.cage
    half = cage.half_width
    both, one = (-half, 0.0, half), (0.0, half)
    lines = one if plane == "along" else both
    stations = np.linspace(middle - reach, middle + reach, _STATIONS)
    return np.concatenate([point_at(radius - (cage.side_drop if x else 0.0), stations, x) for x in lines])


def fits_somehow(piece: Array, usable: Array) -> bool:
    """True if a piece (n, 3) fits the usable bed in some direction, with the slack of a coarse search."""
    return bool((_extents(piece) <= np.sort(usable) * _SLACK).all(axis=1).any())


def _extents(points: Array) -> Array:
    """Sorted sides of the boxes around points in many directions. points : (n, 3); returns (m, 3)."""
    turns = np.radians(_TURNS_DEG)
    about_x, about_z, about_y = (angle.ravel() for angle in np.meshgrid(turns, turns, turns, indexing="ij"))
    rotations = _rotation(0, about_x) @ _rotation(2, about_z) @ _rotation(1, about_y)
    turned = points @ rotations
    return np.sort(np.ptp(turned, axis=1), axis=1)


def _rotation(axis: int, angle: Array) -> Array:
    i, j = (axis + 1) % 3, (axis + 2) % 3
    matrices = np.zeros((len(angle), 3, 3))
    matrices[:, axis, axis] = 1.0
    matrices[:, i, i] = matrices[:, j, j] = np.cos(angle)
    matrices[:, i, j], matrices[:, j, i] = -np.sin(angle), np.sin(angle)
    return matrices


def _by(bed: tuple[float, float, float]) -> str:
    return " x ".join(f"{side:g}" for side in bed)
