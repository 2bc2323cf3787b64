# SPDX-License-Identifier: GPL-3.0-or-later
"""Where to hold the tape: a line drawing for each hand reading, in the job's own proportions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from ..base.errors import JobError
from ..drawing.drawing import Drawing, Mark, Stroke, circle, dimension
from ..job.job_sheet import Job
from ..tables.hand_readings import MM_PER_INCH
from ..tire.job_tire import job_tire_size, static_radius, static_width
from ..tire.tire_profile import tire_profile
from .cross_checks import height_over_tire
from .reading_views import flat, front_view, near_mount_view, side_view

READINGS = (
    "height",
    "ahead",
    "tilt",
    "radius",
    "circumference",
    "ground_radius",
    "width",
    "rim_width",
    "axle_to_face",
    "height_ahead",
    "profile",
)
"""Names of the readings that have a drawing."""

STANCE = (
    "One stance for all readings: the bike upright on level ground, this wheel raised until it just turns free and the other by as "
    "much, tires at riding pressure."
)
ON_WHEELS = (
    "Take this one first, before the wheels are raised for all other readings: upright on level ground, at riding pressure."
)
ON_TREAD = ("height", "radius", "circumference", "width", "height_ahead", "profile")
"""Readings that end on the tread."""
ON_KNOBS = "Measure on the tops of the knobs, all round, never down in a groove: the tops are what must keep clear."


def reading_drawing(job: Job, name: str, *, second_at: float | None = None) -> Drawing:
    """The drawing for one of READINGS; side views show the bike's front to the right, front views the rider's left there.

    second_at : how far ahead of the pattern center the second height is read, mm; None for a usual place
    Raises ValueError for another name, JobError if the second height would miss the tire.
    """
    if name not in _DRAWN:
        raise ValueError(f"name: {name!r}, allowed is {', '.join(READINGS)}")
    drawn = _height_ahead(job, second_at) if name == "height_ahead" and second_at is not None else _DRAWN[name](job)
    on_tread = (ON_KNOBS,) if name in ON_TREAD else ()
    return replace(drawn, notes=(*drawn.notes, *on_tread, ON_WHEELS if name == "ground_radius" else STANCE))


def _height(job: Job) -> Drawing:
    strokes, marks, frame, _ = near_mount_view(job)
    foot = frame.origin - frame.height * frame.up
    lines, mark = dimension(flat(foot).tolist(), flat(frame.origin).tolist(), "height", aside=22.0, head=4.0)
    return Drawing(
        "height", "Mount height", (*strokes, *lines), (*marks, replace(mark, height=5.0)),
        ("From the mount face to the tire's crown, at the middle of the bolt pattern, with the tape square to the face.",
         "Three readings, the wheel turned a third each time: so the run-out is averaged too."),
    )  # fmt: skip


def _ahead(job: Job) -> Drawing:
    strokes, marks, frame, _ = side_view(job)
    ahead, up = flat(frame.origin).tolist()
    top = up + 40.0
    plumb = [Stroke(np.array([[x, y], [x, top + 10.0]]), 0.2, True) for x, y in ((0.0, 0.0), (ahead, up))]
    side = ahead + (30.0 if ahead >= 0.0 else -30.0)
    shown = [[0.0, top], [ahead if abs(ahead) > 1.0 else side, top]]
    lines, mark = dimension(min(shown), max(shown), "ahead", aside=12.0)
    return Drawing(
        "ahead", "Pattern center ahead of the axle", (*strokes, *plumb, *lines), (*marks, replace(mark, height=5.0)),
        (("Plumb lines through the axle and through the middle of the bolt pattern, the distance between "
         "them. Behind the axle it is negative."),),
    )  # fmt: skip


def _tilt(job: Job) -> Drawing:
    strokes, marks, frame, _ = near_mount_view(job)
    start = flat(frame.origin)
    level = Stroke(np.array([start, start + [120.0, 0.0]]), 0.2, True)
    along = Stroke(np.array([start, start + 120.0 * flat(frame.forward)]), 0.3, measured=True)
    square = flat(frame.up)
    foot = start + (4.0 if job.mount.side == "under" else 0.0) * square
    corners = [foot + u * flat(frame.forward) + v * square for u, v in ((-40, 0), (40, 0), (40, 14), (-40, 14), (-40, 0))]
    spirit = [Stroke(np.array(corners), 0.6, measured=True), circle(foot + 7.0 * square, 4.0, width=0.4, measured=True)]
    turned = sorted((0.0, job.mount.tilt))
    if turned[1] - turned[0] > 0.5:
        spirit.append(circle(start, 100.0, begin_deg=turned[0], end_deg=turned[1], measured=True))
    at = (float(start[0]) + 135.0, float(start[1]) + 12.0)
    return Drawing(
        "tilt", "Tilt of the mount face", (*strokes, level, along, *spirit), (*marks, Mark("tilt", at, 5.0, measured=True)),
        (("A level with an angle scale on the mount face, along the bike; nose up is positive."),),
    )  # fmt: skip


def _radius(job: Job) -> Drawing:
    strokes, marks, _, radius = side_view(job)
    lines, mark = dimension((0.0, 0.0), (radius, 0.0), "radius", aside=12.0, head=8.0)
    return Drawing(
        "radius", "Axle to crown", (*strokes, *lines), (*marks, replace(mark, height=5.0)),
        ("From the middle of the axle to the crown. The circumference tells it better: see there.",),
    )  # fmt: skip


def _circumference(job: Job) -> Drawing:
    strokes, marks, _, radius = side_view(job)
    tape = circle((0.0, 0.0), radius + 6.0, begin_deg=-80.0, end_deg=275.0, width=0.8, measured=True)
    return Drawing(
        "circumference", "Circumference", (*strokes, tape), (*marks, Mark("tape", (0.0, radius + 16.0), 5.0, measured=True)),
        (("A steel tape or a paper strip once round the tire, on the middle of the tread; mark where it meets "
         "itself."),),
    )  # fmt: skip


def _ground_radius(job: Job) -> Drawing:
    strokes, marks, _, radius = side_view(job)
    low = -radius + 8.0
    ground = Stroke(np.array([[-radius, low], [radius, low]]), 0.8)
    lines, mark = dimension((0.0, low), (0.0, 0.0), "axle to ground", aside=42.0, head=8.0)
    return Drawing(
        "ground_radius", "Axle to ground", (*strokes, ground, *lines), (*marks, replace(mark, height=5.0)),
        (("From the ground to the middle of the axle, the bike on its wheels. It is less than the radius, as the tire is "
         "pressed flat there: a check only."),),
    )  # fmt: skip


def _width(job: Job) -> Drawing:
    strokes, half, low = front_view(job)
    jaws = [Stroke(np.array([[s * half, low - 6.0], [s * half, 26.0]]), 0.8, measured=True) for s in (-1.0, 1.0)]
    lines, mark = dimension((-half, 22.0), (half, 22.0), "width", aside=6.0)
    return Drawing(
        "width", "Widest width", (*strokes, *jaws, *lines), (replace(mark, height=5.0),),
        ("Calipers or two squares against the widest place of the tire, letters on the sidewall and knobs that stand out included.",),
    )  # fmt: skip


def _rim_width(job: Job) -> Drawing:
    """The rim as a channel under the tire; its width as stated, else a share of the tire's."""
    strokes, _, _ = front_view(job)
    height = job_tire_size(job).section_height_mm
    half = 0.5 * job.tire.rim_width_in * MM_PER_INCH if job.tire.rim_width_in else 0.36 * static_width(job)
    lip, well, depth = 15.0, 0.6 * half, 24.0
    side = np.array([[half, lip - height], [half, -height], [well, -height], [well, -height - depth]])
    rim = Stroke(np.concatenate([side, side[::-1] * [-1.0, 1.0]]), 0.6)
    low = -height - depth - 14.0
    jaws = [Stroke(np.array([[s * half, low - 8.0], [s * half, -height - 4.0]]), 0.8, measured=True) for s in (-1.0, 1.0)]
    lines, mark = dimension((-half, low), (half, low), "rim width", aside=-8.0)
    return Drawing(
        "rim_width", "Rim width", (*strokes, rim, *jaws, *lines), (replace(mark, height=5.0),),
        (("Between the flanges of the rim, on the inside, where the beads of the tire sit; with the tire on, take the outside "
         "of the flanges and subtract their thickness, or read the figure that is cast into the rim."),),
    )  # fmt: skip


def _axle_to_face(job: Job) -> Drawing:
    strokes, marks, frame, _ = side_view(job)
    foot = frame.origin - float(frame.origin @ frame.up) * frame.up
    line, mark = dimension(
        [0.0, 0.0], flat(frame.up * float(frame.origin @ frame.up)).tolist(), "axle to face", aside=75.0, head=8.0
    )
    shift = np.stack([flat(foot), flat(frame.origin)])
    square = Stroke(shift, 0.2, True)
    return Drawing(
        "axle_to_face", "Axle to mount face", (*strokes, square, *line), (*marks, replace(mark, height=5.0)),
        (("From the middle of the axle to the plane of the mount face, square to the face, past the hub; a straight edge held "
         "along the face carries the plane out beside the tire. A check only."),),
    )  # fmt: skip


def _height_ahead(job: Job, along: float | None = None) -> Drawing:
    strokes, marks, frame, radius = near_mount_view(job)

    def height_at(place: float) -> float:
        return height_over_tire(radius, frame.height, job.mount.ahead, job.mount.tilt, place)

    if along is None:
        along = next((place for place in (_SECOND_AT, -_SECOND_AT) if np.isfinite(height_at(place))), _SECOND_AT)
    height = height_at(along)
    where = f"{abs(along):g} mm {'ahead of' if along >= 0.0 else 'behind'} the pattern center"
    if not np.isfinite(height):
        raise JobError("height_ahead", f"{where} lies past the tire: take it nearer")
    place = frame.origin + along * frame.forward
    edge = Stroke(np.array([flat(frame.origin), flat(place)]), 0.8, measured=True)
    lines, mark = dimension(
        flat(place - height * frame.up).tolist(), flat(place).tolist(), "second height", aside=-34.0, head=4.0
    )
    return Drawing(
        "height_ahead", "Second height", (*strokes, edge, *lines), (*marks, replace(mark, height=5.0)),
        (f"As the mount height, but {where}, along the face (a straight edge carries it on).",
         "Two heights over a known circle tell the tilt better than a level on a short face. A check only."),
    )  # fmt: skip


def _profile(job: Job) -> Drawing:
    strokes, half, low = front_view(job)
    rule = Stroke(np.array([[-half - 15.0, 0.0], [half + 15.0, 0.0]]), 0.8, measured=True)
    points = np.array(tire_profile(job).static) - [0.0, static_radius(job)]
    x = 0.7 * half
    y = float(np.interp(x, points[:, 0], points[:, 1]))
    drop, drop_mark = dimension((x, y), (x, 0.0), "drop", aside=-14.0, head=3.0)
    offset, offset_mark = dimension((0.0, 12.0), (x, 12.0), "offset", aside=6.0)
    center = Stroke(np.array([[0.0, 18.0], [0.0, low]]), 0.2, True)
    return Drawing(
        "profile", "Profile of the tread", (*strokes, rule, center, *drop, *offset),
        (replace(drop_mark, height=5.0), replace(offset_mark, height=5.0)),
        (("A straight edge level on the crown; at each offset from the middle, the drop down to the rubber, out to the widest "
         "place. Or calipers set across the tire at drops, where the width is twice the offset; or a contour gauge held square to "
         "the tread, drawn round on paper."),),
    )  # fmt: skip


_SECOND_AT = 60.0

_DRAWN: dict[str, Callable[[Job], Drawing]] = {
    "height": _height,
    "ahead": _ahead,
    "tilt": _tilt,
    "radius": _radius,
    "circumference": _circumference,
    "ground_radius": _ground_radius,
    "width": _width,
    "rim_width": _rim_width,
    "axle_to_face": _axle_to_face,
    "height_ahead": _height_ahead,
    "profile": _profile,
}
