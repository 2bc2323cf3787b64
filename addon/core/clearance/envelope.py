# SPDX-License-Identifier: GPL-3.0-or-later
"""The envelope: the tire at its largest, wherever axle slot, travel and steering bring it as the fender sees it."""

from __future__ import annotations

from dataclasses import dataclass

from ..base.arrays import Array
from ..bodies.body import Body
from ..bodies.meridian_body import MeridianBody
from ..job.job_sheet import Job
from ..tire.tire_profile import tire_profile
from .motion import Motion, motion_of


@dataclass(frozen=True, eq=False)
class Envelope:
    """profile : (m, 2) float, mm, rows (x, rho), convex, from the crown outward

    wheel : the body of revolution of the profile; still : the same, moved through the axle slot; convex both
    motion : how the wheel moves against the fender; body : still, moved so; convex unless it turns
    """

    profile: Array
    wheel: MeridianBody
    still: Body
    motion: Motion
    body: Body


def envelope(job: Job) -> Envelope:
    """The envelope of a job. The axle moves from travel.axle_slot[0] forward (-y) to [1] rearward of where it was measured."""
    wheel, slot = MeridianBody(tire_profile(job).largest), job.travel.axle_slot
    motion = motion_of(job, "wheel")
    still = motion.still().sweep_wheel(wheel, slot)
    body = motion.sweep_wheel(wheel, slot) if motion.moves else still
    return Envelope(profile=wheel.profile, wheel=wheel, still=still, motion=motion, body=body)
