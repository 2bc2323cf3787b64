# SPDX-License-Identifier: GPL-3.0-or-later
"""Wheel and tire of a job as line drawings, for whatever is measured on them to be drawn over."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..job.job_sheet import Job
from ..seat.mount import MountFrame, mount_frame
from ..tire.job_tire import job_tire_size, static_radius, static_width
from ..tire.tire_profile import tire_profile
from ..views.drawing import Mark, Stroke, circle


def side_view(job: Job) -> tuple[list[Stroke], list[Mark], MountFrame, float]:
    """Wheel, axle and mount face from the rider's right, (forward, up): strokes, names, mount, tire radius in mm."""
    frame, radius = mount_frame(job), static_radius(job)
    rim = 0.5 * job_tire_size(job).rim_diameter_mm
    strokes = [circle((0.0, 0.0), radius, width=0.6), circle((0.0, 0.0), rim), circle((0.0, 0.0), 8.0)]
    length = 0.5 * (job.mount.plate[1] if job.mount.plate else 2.0 * frame.pad + float(np.ptp(frame.bolts_uv[:, 1])))
    face = np.array([flat(frame.origin + v * frame.forward) for v in (-length, length)])
    up = np.array([-frame.up[1], frame.up[2]])
    thick = 4.0 if job.mount.side == "under" else -4.0
    strokes.append(Stroke(np.concatenate([face, (face + thick * up)[::-1], face[:1]]), 0.6))
    return strokes, [Mark("axle", (0.0, -20.0), 4.0), Mark("front ->", (radius, -radius - 20.0), 4.0)], frame, radius


def near_mount_view(job: Job) -> tuple[list[Stroke], list[Mark], MountFrame, float]:
    """As side_view, but only the part about the mount face, so that what lies between face and tire is large."""
    strokes, _, frame, radius = side_view(job)
    place = flat(frame.origin)
    toward = float(np.degrees(np.arctan2(place[1], place[0])))
    reach = float(np.degrees(_NEAR_MM / radius))
    tire = circle((0.0, 0.0), radius, begin_deg=toward - reach, end_deg=toward + reach, width=0.6)
    low = float(tire.points[:, 1].min()) - 14.0
    marks = [Mark("tire", (float(tire.points[-1, 0]) + 10.0, low), 4.0)]
    marks.append(Mark("front ->", (float(tire.points[0, 0]) - 10.0, low), 4.0))
    return [tire, strokes[-1]], marks, frame, radius


_NEAR_MM = 110.0


def flat(point: Array) -> Array:
    """A point (3,) of the wheel axes in the side view: (forward, up)."""
    return np.array([-point[1], point[2]])


def front_view(job: Job) -> tuple[list[Stroke], float, float]:
    """The tire's section from the front, (x, up from the crown): strokes, its half width, and how far up that is, in mm."""
    half = np.array(tire_profile(job).static) - [0.0, static_radius(job)]
    height = job_tire_size(job).section_height_mm
    rim = 0.36 * static_width(job)
    low = float(half[-1, 1])
    side = np.array([[half[-1, 0], low], [half[-1, 0], 0.5 * (low - height)], [rim, -height]])
    right = np.concatenate([half, side])
    return [Stroke(np.concatenate([right[::-1] * [-1.0, 1.0], right]), 0.6)], float(half[-1, 0]), low
