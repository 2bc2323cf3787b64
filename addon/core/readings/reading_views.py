# SPDX-License-Identifier: GPL-3.0-or-later
"""Wheel and tire of a job as line drawings, for whatever is measured on them to be drawn over."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..drawing.drawing import Mark, Stroke, circle
from ..job.job_sheet import Job
from ..seat.mount import MountFrame, mount_frame
from ..tire.job_tire import job_tire_size, static_radius, static_width
from ..tire.tire_profile import tire_profile


def side_view(job: Job) -> tuple[list[Stroke], list[Mark], MountFrame, float]:
    """Wheel, axle and mount face from the rider's right, (forward, up): strokes, names, mount, tire radius in mm."""
    frame, radius = mount_frame(job), static_radius(job)
    rim = 0.5 * job_tire_size(job).rim_diameter_mm
    strokes = [
        circle((0.0, 0.0), radius, width=0.6),
        _knobs_round(radius, 0.0, 360.0),
        circle((0.0, 0.0), rim),
        circle((0.0, 0.0), 8.0),
    ]
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
    return [tire, _knobs_round(radius, toward - reach, toward + reach), strokes[-1]], marks, frame, radius


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
    outline = np.concatenate([right[::-1] * [-1.0, 1.0], right])
    return [Stroke(outline, 0.6), _knobs_across(half)], float(half[-1, 0]), low


_GROOVE_MM, _KNOB_DEG, _ROWS = 6.0, 6.0, 5
"""Depth of the grooves and pitch of the knobs that are drawn, and rows of them on one half: only to show what the tops are."""


def _knobs_round(radius: float, begin_deg: float, end_deg: float) -> Stroke:
    """The tread from the side: knobs whose tops lie on the circle, one of them at the start and one in the middle."""
    count = 2 * max(int(0.5 * (end_deg - begin_deg) / _KNOB_DEG), 1)
    pitch = (end_deg - begin_deg) / count
    turn = begin_deg + pitch * (np.arange(count + 1)[:, None] + [-0.3, -0.3, 0.3, 0.3]).ravel()
    turn = np.radians(np.clip(turn, begin_deg, end_deg))
    reach = np.tile([radius - _GROOVE_MM, radius, radius, radius - _GROOVE_MM], count + 1)
    return Stroke(reach[:, None] * np.column_stack([np.cos(turn), np.sin(turn)]), 0.2)


def _knobs_across(half: Array) -> Stroke:
    """The tread from the front: rows of knobs whose tops lie on the section. half : (n, 2) from the crown outward, mm"""
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(half, axis=0).T))])
    pitch = 0.8 * length[-1] / (_ROWS + 0.3)
    at = np.concatenate([[0.3, 0.3], (np.arange(1, _ROWS + 1)[:, None] + [-0.3, -0.3, 0.3, 0.3]).ravel()]) * pitch
    top = np.column_stack([np.interp(at, length, half[:, 0]), np.interp(at, length, half[:, 1])])
    step = np.column_stack([np.interp(at + 0.5, length, half[:, 0]), np.interp(at + 0.5, length, half[:, 1])]) - top
    inward = np.column_stack([step[:, 1], -step[:, 0]]) / np.maximum(np.hypot(*step.T), 1e-9)[:, None]
    deep = np.array([False, True, *np.tile([True, False, False, True], _ROWS)])
    right = top + _GROOVE_MM * deep[:, None] * inward
    return Stroke(np.concatenate([right[::-1] * [-1.0, 1.0], right]), 0.2)
