# SPDX-License-Identifier: GPL-3.0-or-later
"""The crown strip: a narrow slice of the real fender at a station, hung from the mount face by its bolts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError, ShapeError
from ..base.wheel_axes import point_at
from ..drawing.lettering import RIGHT
from ..job.job_sheet import Job
from ..mesh.open_surface import Surface
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.mount import MountFrame
from ..tables.gauge_rules import (
    LAP_MM,
    LAP_PLAY_MM,
    LAP_THREAD,
    LEAN_DEG,
    STRIP_WIDTHS_MM,
    STRUT_DEPTH_MM,
    STRUT_WIDTH_MM,
    USUAL_TEXT_MM,
)
from .arm import ArmCourse, ArmPiece, arm_course, arm_pieces, piece_counts
from .gauge import Gauge, bed_pose, size_of
from .label import Row, fitted, line_width, raised
from .strip_body import StripBody
from .strip_points import gauge_points, wall_section
from .tab import Tab, blocked_half_width, tab

_LABEL_MARGIN_MM = 2.0


def crown_strip(
    job: Job, frame: MountFrame, surface: Surface, station_deg: float, date: str, width: float = 12.0
) -> tuple[Gauge, ...]:
    """The fender's section at a station as a strip `width` mm wide, on an arm from a tab with the bolt holes.

    sheet : the whole skin, wheel axes, mm. station_deg : must lie on the skin. width : 10 to 15 mm
    The strip is the section at the station moved straight along the wheel's tangent; its inner and outer face are those of
    the wall. Round notches in its front edge mark where gaps are read. One gauge near the mount; far from it the arm comes in
    pieces, the strip's first. Where the strip is too wide for the bed it is the half on the rider's left.
    Raises JobError for a width or station that cannot be, or if a piece does not fit the bed; ShapeError if the label finds no
    room.
    """
    if not STRIP_WIDTHS_MM[0] <= width <= STRIP_WIDTHS_MM[1]:
        raise JobError("strip width", f"{width:g} mm; allowed are {STRIP_WIDTHS_MM[0]:g} to {STRIP_WIDTHS_MM[1]:g} mm")
    inner, outer = wall_section(job, surface, station_deg)
    hung = tab(job, frame)
    course = arm_course(job, frame, surface, station_deg, hung.thickness, hung.span_v)
    blocked = blocked_half_width(job, frame, hung, station_deg, 0.5 * width)
    points = gauge_points(job, frame, inner, station_deg)
    for half in (False, True):
        body = StripBody(job, inner, outer, station_deg, width, half)
        for count in piece_counts(course):
            pieces = arm_pieces(course, count) if count else (ArmPiece((station_deg, station_deg), (), ()),)
            strip = _with_strip(job, body, course, pieces, hung, blocked, date)
            arms = [_arm_gauge(job, course, pieces, number, hung) for number in range(1, len(pieces))]
            if strip is not None and None not in arms:
                on_it = tuple(point for point in points if point.name in body.points)
                return (replace(strip, points=on_it), *(arm for arm in arms if arm is not None))
    size = " x ".join(f"{side:.0f}" for side in size_of((body.solid(),), _bed(course, station_deg)))
    bed = " x ".join(f"{side:g}" for side in job.printer.bed)
    raise JobError(
        "printer.bed",
        f"{bed} does not hold the crown strip at station {station_deg:+g}: half of it is {size} mm, without its arm",
    )


def _with_strip(
    job: Job, body: StripBody, course: ArmCourse, pieces: tuple[ArmPiece, ...], hung: Tab, blocked: float, date: str
) -> Gauge | None:
    """The strip with the first piece of its arm; None if it does not fit the bed."""
    what = f"crown strip at station {body.station:+g}"
    bars, cautions = body.label(blocked, date, what)
    alone = len(pieces) == 1
    solids = (body.solid(), *pieces[0].solids, *((hung.solid,) * alone), *bars)
    cuts = (*pieces[0].cuts, *(hung.cuts if alone else ()), *body.notches())
    pose = bed_pose(solids, _bed(course, body.station), job.printer)
    if pose is None:
        return None
    if body.half:
        cautions += (f"{what}: too wide for the bed, this is the half on the rider's left.",)
    if not alone:
        swing = 2.0 * LAP_PLAY_MM / (0.7 * LAP_MM)
        reach = float(
            np.linalg.norm(point_at(course.lower[0], course.stations[0]) - point_at(course.lower[-1], course.stations[-1]))
        )
        drill = f"{what}: its arm is bolted from {len(pieces)} pieces; drill the holes of both together to {LAP_THREAD}."
        cautions += (f"{drill} Play of {LAP_PLAY_MM:g} mm in them moves the strip by {swing * reach:.1f} mm.",)
    half = "_left" if body.half else ""
    title = f"Crown strip at station {body.station:+g}"
    return Gauge(f"crown_strip_{body.station:+.0f}{half}", title, solids, cuts, pose, (), cautions + _lean(what, pieces[0]))


def _arm_gauge(job: Job, course: ArmCourse, pieces: tuple[ArmPiece, ...], number: int, hung: Tab) -> Gauge | None:
    """A further piece of the arm, the last one with the tab; None if it does not fit the bed."""
    piece, station = pieces[number], float(course.stations[0])
    last = number == len(pieces) - 1
    bars = _arm_label(job, course, piece, number)
    solids = (*piece.solids, *((hung.solid,) * last), *bars)
    cuts = (*piece.cuts, *(hung.cuts if last else ()))
    pose = bed_pose(solids, _bed(course, piece.stations[0]), job.printer)
    if pose is None:
        return None
    what = f"arm {number} of the crown strip at station {station:+g}"
    return Gauge(f"crown_strip_{station:+.0f}_arm_{number}", what.capitalize(), solids, cuts, pose, (), _lean(what, piece))


def _bed(course: ArmCourse, station_deg: float) -> Array:
    """Wheel axes to bed axes: the section at the station lies on the bed, the arm rises from it."""
    forward = 1.0 if course.stations[-1] >= course.stations[0] else -1.0
    up = forward * point_at(1.0, station_deg + 90.0)
    return np.array([[1.0, 0.0, 0.0], np.cross(up, [1.0, 0.0, 0.0]), up])


def _lean(what: str, piece: ArmPiece) -> tuple[str, ...]:
    turn = abs(piece.stations[1] - piece.stations[0])
    return (f"{what}: it leans up to {turn:.0f} degrees from upright; print it with support.",) if turn > LEAN_DEG else ()


def _arm_label(job: Job, course: ArmCourse, piece: ArmPiece, number: int) -> tuple[TriangleMesh, ...]:
    """Text on the arm's side to the rider's right, where the arm has its full depth, read with the bike's front to the right."""
    line = line_width(job)
    order = np.argsort(course.stations)
    stations, lower = course.stations[order], course.lower[order]
    low, high = sorted(piece.stations)
    full = stations[(stations >= low) & (stations <= high) & ~course.by_plate[order]]
    if len(full) < 2:
        raise ShapeError(f"arm {number} of the crown strip at station {course.stations[0]:+g}: no room for its label")
    radius = float(np.interp(full.mean(), stations, lower))
    length = radius * float(np.radians(np.ptp(full))) - 2.0 * _LABEL_MARGIN_MM
    begin = full[0] + np.degrees(_LABEL_MARGIN_MM / radius)
    row = Row(0, (0.0, 0.5 * (STRUT_DEPTH_MM - USUAL_TEXT_MM)), length, max(USUAL_TEXT_MM, 4.0 * line))
    lines, _ = fitted((row,), (f"ST{course.stations[0]:+.0f} {number} {RIGHT}",), "ARM", line, f"arm {number}")

    def on_side(local: Array) -> Array:
        station = begin + np.degrees(local[:, 0] / radius)
        return point_at(np.interp(station, stations, lower) + local[:, 1], station, -0.5 * STRUT_WIDTH_MM - local[:, 2])

    return raised(lines, (on_side,), line)
