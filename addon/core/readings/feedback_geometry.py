# SPDX-License-Identifier: GPL-3.0-or-later
"""What a gauge that hangs from the mount would read, for a job sheet and corrections of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..base.arrays import Array
from ..base.convex_polygon import polygon_distance
from ..base.errors import JobError
from ..base.wheel_axes import point_at, radius_of
from ..job.job_sheet import Job
from ..seat.mount import mount_frame
from ..tire.job_tire import static_radius
from ..tire.tire_profile import tire_profile

QUANTITIES = ("height", "ahead", "tilt", "lateral", "crown_radius")
"""What feedback corrects: mount height, ahead and tilt (degrees), pattern center to the rider's left, axle to crown; mm."""
SPOKEN = {
    "height": "the mount height",
    "ahead": "the distance ahead",
    "tilt": "the tilt",
    "lateral": "the offset to the side",
    "crown_radius": "the crown radius",
}


@dataclass(frozen=True, eq=False)
class Place:
    """Where a gap is read. station_deg, point : its name; position : (3,) float, mm, mount axes from the pattern center."""

    station_deg: float
    point: str
    position: Array

    @property
    def name(self) -> str:
        return f"station {self.station_deg:+g} {self.point}"


def sheet_values(job: Job) -> Array:
    """The quantities as the sheet has them, (5,) float in the order of QUANTITIES; lateral is 0 by definition."""
    return np.array([job.mount.height, job.mount.ahead, job.mount.tilt, 0.0, static_radius(job)])


def corrected_job(job: Job, values: Array) -> Job:
    """The job with the quantities set to values (5,); a lateral offset moves all bolts to the rider's left."""
    height, ahead, tilt, lateral, radius = (float(value) for value in values)
    bolts = tuple((x + lateral, a) for x, a in job.mount.bolts)
    mount = replace(job.mount, height=height, ahead=ahead, tilt=tilt, bolts=bolts)
    return replace(job, mount=mount, tire=replace(job.tire, measured_radius=radius))


class GapModel:
    """Gaps that a gauge made for a job would have on a bike whose quantities differ from the sheet. Owns the tire's outline."""

    def __init__(self, job: Job) -> None:
        self.job = job
        profile = np.array(tire_profile(job).static)
        # The tire filled to far below the axle, so that its lower side is never the nearest; counterclockwise from there.
        foot = np.array([[profile[-1, 0], -float(profile[0, 1])]])
        right = np.concatenate([foot, profile[::-1]])
        self._outline = np.concatenate(
            [right[right[:, 0] > 0.0], [[0.0, profile[0, 1]]], right[right[:, 0] > 0.0][::-1] * [-1.0, 1.0]]
        )
        self._radius = static_radius(job)

    def gaps(self, values: Array, positions: Array) -> Array:
        """Gaps (n,), mm, the shortest way to the tire as it stands.

        values : (5,) float, order of QUANTITIES. positions : (n, 3) float, mm, mount axes; the gauge hangs by its bolts, so
        that it goes to the side with them.
        Raises JobError as mount_frame for values that no mount can have.
        """
        frame = mount_frame(corrected_job(self.job, values))
        points = frame.origin + (positions + [values[3], 0.0, 0.0]) @ np.stack([frame.x, frame.forward, frame.up])
        # The tire's outline grows with its crown radius as a whole: drops are measured from the crown.
        return polygon_distance(self._outline, np.column_stack([points[:, 0], radius_of(points) - (values[4] - self._radius)]))

    def slopes(self, values: Array, positions: Array) -> Array:
        """Change of each gap with each quantity, (n, 5), by central differences of the true geometry."""
        columns = []
        for step in np.diag(_STEP):
            forth, back = self.gaps(values + step, positions), self.gaps(values - step, positions)
            columns.append((forth - back) / (2.0 * step.sum()))
        return np.column_stack(columns)


_STEP = (0.05, 0.05, 0.02, 0.05, 0.05)


def candidate_places(job: Job, gap: float, step_deg: float = 20.0) -> tuple[Place, ...]:
    """Places that a further strip could have: crown and both shoulders, at stations over the fender, a gap over the tire."""
    frame = mount_frame(job)
    profile = np.array(tire_profile(job).static)
    half = float(profile[-1, 0])
    places = []
    for station in np.arange(np.ceil(job.cage.rear / step_deg), np.floor(job.cage.front / step_deg) + 1.0) * step_deg:
        for point, share in (("C", 0.0), ("L2", 0.85), ("R2", -0.85)):
            x = share * half
            rho = float(np.interp(abs(x), profile[:, 0], profile[:, 1])) + gap
            uv, above = frame.to_plane(point_at(rho, station, x))
            places.append(Place(float(station), point, np.array([*uv, above])))
    return tuple(places)


def check_place(job: Job, place: Place) -> None:
    """JobError if a gap read there says nothing for certain: off the crown of a tire whose profile was not measured."""
    if job.tire.profile is None and abs(place.position[0]) > _ON_CROWN_MM:
        raise JobError(
            f"reading at {place.name}",
            "lies off the crown, but the sheet has no measured tire.profile to compare it with; measure the profile first, or "
            "give readings at C only",
        )


_ON_CROWN_MM = 5.0
