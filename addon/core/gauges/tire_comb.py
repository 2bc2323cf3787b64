# SPDX-License-Identifier: GPL-3.0-or-later
"""The tire comb: a flat plate whose lower edge is the tire's profile at gap 0."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError
from ..drawing.lettering import RIGHT, advance
from ..job.job_sheet import Job
from ..tables.gauge_rules import NOTCH_RADIUS_MM, PLATE_MM, RAISED_MM, USUAL_TEXT_MM
from ..tire.tire_profile import tire_profile
from .gauge import Gauge, bed_pose, size_of
from .label import fitted, line_width, raised, rows_on
from .prisms import band_prism, cylinder, frame_place

_LEG_MM = 6.0
_MARGIN_MM = 2.0
_LETTERS_ACROSS = 14
_PAST_CENTER_MM = 8.0
_AXES = ([1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0])
"""Along the comb, up, out of its face: it reads from the front of the bike, where the rider's left is on the right."""


def tire_comb(job: Job, date: str) -> Gauge:
    """The profile of the tire as it stands, cut out of a plate: it must lie on the tire without a gap.

    Held square to the tread, the arrow to the rider's left; a notch on top marks the center plane. Where the whole comb does
    not fit the bed it is a half that reaches past the center and is turned over for the other side.
    Raises JobError("printer.bed", ...) if the half does not fit either.
    """
    profile = np.array(tire_profile(job).static)
    rotation = np.array(_AXES)
    size = ""
    for half in (False, True):
        gauge = _comb(job, profile, half, date)
        pose = bed_pose(gauge.solids, rotation, job.printer)
        if pose is not None:
            return Gauge(gauge.name, gauge.title, gauge.solids, gauge.cuts, pose, cautions=gauge.cautions)
        size = " x ".join(f"{side:.0f}" for side in size_of(gauge.solids, rotation)[:2])
    raise JobError("printer.bed", f"half of the tire comb is {size} mm and does not fit; use the paper template instead")


def comb_edge(profile: Array) -> Array:
    """The whole lower edge (n, 2), mm, (x, rho), from -x to +x, without the points below the widest place.

    profile : (m, 2) float, (offset, rho) from the crown outward
    """
    crown = profile[0, 1]
    outer = profile[profile[:, 0] > 0.0]
    return np.concatenate([outer[::-1] * [-1.0, 1.0], [[0.0, crown]], outer])


def _comb(job: Job, profile: Array, half: bool, date: str) -> Gauge:
    line = line_width(job)
    edge = comb_edge(profile)
    crown, widest, lowest = float(edge[:, 1].max()), float(edge[-1, 0]), float(edge[-1, 1])
    edge = np.concatenate([[[-widest - _LEG_MM, lowest]], edge, [[widest + _LEG_MM, lowest]]])
    if half:
        edge = _from(edge, -_PAST_CENTER_MM)
    letters = _LETTERS_ACROSS * advance(USUAL_TEXT_MM, line)
    left = widest + _LEG_MM - _MARGIN_MM
    length = min(letters, left - edge[0, 0] - _MARGIN_MM)
    rows = 3 if length >= letters else 6
    height = rows * (USUAL_TEXT_MM + line) - line
    top = crown + 2.0 * _MARGIN_MM + height + 2.0
    place = frame_place(np.zeros(3), *_AXES)
    plate = band_prism(edge, np.column_stack([edge[:, 0], np.full(len(edge), top)]), -0.5 * PLATE_MM, 0.5 * PLATE_MM, place)
    corner = (0.5 * (edge[0, 0] + edge[-1, 0]) - 0.5 * length, crown + _MARGIN_MM)
    title = "COMB HALF" if half else "TIRE COMB"
    lines, cautions = fitted(rows_on(0, corner, length, height, line), (title, date, f"L {RIGHT}"), job.name, line, "tire comb")
    face = frame_place([0.0, -0.5 * PLATE_MM, 0.0], *_AXES)
    notch = cylinder([0.0, top], 2.0 * NOTCH_RADIUS_MM, -PLATE_MM, PLATE_MM + RAISED_MM, place, sides=4)
    name = "tire_comb_half" if half else "tire_comb"
    return Gauge(name, "Tire comb", (plate, *raised(lines, (face,), line)), (notch,), np.eye(4), cautions=cautions)


def _from(edge: Array, x: float) -> Array:
    """The part of an edge at offsets over x, cut there."""
    at = np.array([[x, np.interp(x, *edge.T)]])
    return np.concatenate([at, edge[edge[:, 0] > x]])
