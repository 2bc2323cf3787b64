# SPDX-License-Identifier: GPL-3.0-or-later
"""The drilling gauge: a flat plate with the bolt pattern, its axes and the outline of the seat."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError
from ..drawing.lettering import UP, advance
from ..job.job_sheet import Job
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.mount import MountFrame
from ..tables.fasteners import CLEARANCE_HOLE
from ..tables.gauge_rules import PLATE_MM, RAISED_MM, SUNK_MM, USUAL_TEXT_MM
from .gauge import Gauge, bed_pose, size_of
from .label import fitted, line_width, raised, rows_on
from .prisms import Place, convex_prism, cylinder, frame_place

_NOTCH_MM = 2.0
_OUTLINE_POINTS = 180
_LETTERS_ACROSS = 11
_ROWS = 4


def drilling_gauge(job: Job, frame: MountFrame, date: str) -> Gauge:
    """The bolt pattern as a plate that is held against the mount face.

    Holes are the clearance holes of the job, the rim is the outline of the fender's seat, notches in it mark both axes of
    the pattern; the label is on a flag behind it, its arrow forward, and reads on the side away from the mount face.
    Raises JobError("printer.bed", ...) if it does not fit the bed.
    """
    line = line_width(job)
    place, plane = _face(job, frame)
    outline = frame.outline(_OUTLINE_POINTS) * plane
    reach = outline.max(axis=0), outline.min(axis=0)
    flag, field = _flag(outline, line)
    plate = [convex_prism(outline, 0.0, PLATE_MM, place), convex_prism(flag, 0.0, PLATE_MM, place)]
    lines, cautions = fitted(
        rows_on(0, field[:2], field[2], field[3], line), ("DRILLING", date, f"{UP} FWD"), job.name, line, "drilling gauge"
    )
    face = frame_place(place(np.array([[0.0, 0.0, PLATE_MM]]))[0], *_axes(place))
    solids = (*plate, *raised(lines, (face,), line), *_axis_bars(*reach, line, place))
    diameter = CLEARANCE_HOLE[job.mount.thread][job.mount.fit]
    through = -1.0, PLATE_MM + RAISED_MM + 1.0
    cuts = [cylinder(bolt * plane, 0.5 * diameter, *through, place) for bolt in frame.bolts_uv]
    cuts += [_notch(end, place, through) for end in _axis_ends(*reach)]
    rotation = np.array(_axes(place))
    pose = bed_pose(solids, rotation, job.printer)
    if pose is None:
        size = " x ".join(f"{side:.0f}" for side in size_of(solids, rotation)[:2])
        raise JobError("printer.bed", f"the drilling gauge is {size} mm and does not fit; use the paper template instead")
    return Gauge("drilling_gauge", "Drilling gauge", solids, tuple(cuts), pose, cautions=cautions)


def _face(job: Job, frame: MountFrame) -> tuple[Place, Array]:
    """Local axes that read from the side away from the mount face, and the signs that take (u, v) of the plane to them."""
    if job.mount.side == "under":
        return frame_place(frame.origin, frame.x, frame.forward, -frame.up), np.array([1.0, 1.0])
    return frame_place(frame.origin, -frame.x, frame.forward, frame.up), np.array([-1.0, 1.0])


def _axes(place: Place) -> tuple[Array, Array, Array]:
    zero, *ends = place(np.vstack([np.zeros(3), np.eye(3)]))
    return ends[0] - zero, ends[1] - zero, ends[2] - zero


def _flag(outline: Array, line: float) -> tuple[Array, tuple[float, float, float, float]]:
    """The flag's rectangle (4, 2), sunk into the outline's rear, and its field for text: corner, length, height."""
    length = _LETTERS_ACROSS * advance(USUAL_TEXT_MM, line)
    height = _ROWS * (USUAL_TEXT_MM + line) - line
    low, high = outline.min(axis=0), outline.max(axis=0)
    middle = 0.5 * (low[0] + high[0])
    left, right = middle - 0.5 * length - 2.0, middle + 0.5 * length + 2.0
    bottom, text_top = low[1] - height - 3.0, low[1] - 1.5
    top = low[1] + 0.3 * (high[1] - low[1])
    # Where the outline is narrower than the flag, the flag must not cover the seat's rim: only its root runs in.
    half = min(0.5 * length, 0.4 * (high[0] - low[0]))
    root = np.array(
        [[middle - half, top], [left, text_top], [left, bottom], [right, bottom], [right, text_top], [middle + half, top]]
    )
    return root, (left + 2.0, bottom + 1.5, length, height)


def _axis_ends(high: Array, low: Array) -> Array:
    """Where both axes of the pattern meet the rim's box, (4, 2): ahead, behind, and both sides."""
    return np.array([[0.0, high[1]], [0.0, low[1]], [high[0], 0.0], [low[0], 0.0]])


def _axis_bars(high: Array, low: Array, line: float, place: Place) -> tuple[TriangleMesh, ...]:
    """Raised lines along both axes, as far as the plate reaches."""
    edge = 2.0 * _NOTCH_MM
    spans = [
        ((-0.5 * line, low[1] + edge), (0.5 * line, high[1] - edge)),
        ((low[0] + edge, -0.5 * line), (high[0] - edge, 0.5 * line)),
    ]
    bars = []
    for (x0, y0), (x1, y1) in spans:
        box = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
        bars.append(convex_prism(box, PLATE_MM - SUNK_MM, PLATE_MM + 0.5 * RAISED_MM, place))
    return tuple(bars)


def _notch(tip: Array, place: Place, through: tuple[float, float]) -> TriangleMesh:
    """A prism whose edge points from the rim to the pattern's center along an axis."""
    inward = -tip / np.hypot(*tip)
    side = np.array([-inward[1], inward[0]])
    shape = np.array([tip + _NOTCH_MM * inward, tip - inward + 1.5 * _NOTCH_MM * side, tip - inward - 1.5 * _NOTCH_MM * side])
    return convex_prism(shape, *through, place)
