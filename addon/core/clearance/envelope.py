# SPDX-License-Identifier: GPL-3.0-or-later
"""The envelope: the tire at its largest, wherever the axle may sit in its slot."""

from __future__ import annotations

from dataclasses import dataclass

from ..base.arrays import Array
from ..bodies.body import Body
from ..bodies.meridian_body import MeridianBody
from ..bodies.swept import Swept
from ..job.job_sheet import Job
from ..tire.tire_profile import tire_profile


@dataclass(frozen=True, eq=False)
class Envelope:
    """profile : (m, 2) float, mm, rows (x, rho), convex, from the crown outward

    wheel : the body of revolution of the profile; body : the same, moved through the axle slot; convex both
    """

    profile: Array
    wheel: MeridianBody
    body: Body


def envelope(job: Job) -> Envelope:
    """The envelope of a job. The axle moves from travel.axle_slot[0] forward (-y) to [1] rearward of where it was measured."""
    wheel = MeridianBody(tire_profile(job).largest)
    forward, rearward = job.travel.axle_slot
    body: Body = wheel
    if forward != 0.0 or rearward != 0.0:
        body = Swept(wheel, (0.0, forward + rearward, 0.0), begin=(0.0, -forward, 0.0))
    return Envelope(profile=wheel.profile, wheel=wheel, body=body)
