# SPDX-License-Identifier: GPL-3.0-or-later
"""The arm that carries a crown strip from the mount, in the center plane; joined from pieces where it is long."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Mask
from ..base.errors import JobError
from ..base.wheel_axes import point_at, radius_of, station_of
from ..job.job_sheet import Job
from ..mesh.open_surface import Surface
from ..mesh.section import side_profile
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.mount import MountFrame
from ..seat.seat_offset import wall_shares
from ..tables.fasteners import NOMINAL_DIAMETER
from ..tables.gauge_rules import LAP_MM, LAP_THREAD, LONGEST_ARM_DEG, SHORTEST_ARM_DEG, STRUT_DEPTH_MM, STRUT_WIDTH_MM
from .prisms import band_prism, cylinder, frame_place

STEP_DEG = 0.5
_FREE_MM = 2.0
_HALF_MM = 0.5 * STRUT_WIDTH_MM
_LAP_GAP_MM = 0.1
_SIDE = frame_place(np.zeros(3), [0.0, -1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0])


@dataclass(frozen=True, eq=False)
class ArmCourse:
    """The arm's edges, from the strip to its root in the tab.

    stations : (n,) degrees; lower, upper : (n,) radius, mm; by_plate : (n,) True where the bracket's plate limits it
    """

    stations: Array
    lower: Array
    upper: Array
    by_plate: Mask


@dataclass(frozen=True, eq=False)
class ArmPiece:
    """One piece of an arm: stations (from, to), the strip's side first; the laps at its ends are in solids and cuts."""

    stations: tuple[float, float]
    solids: tuple[TriangleMesh, ...]
    cuts: tuple[TriangleMesh, ...]


def arm_course(
    job: Job, frame: MountFrame, surface: Surface, station_deg: float, tab: float, span_v: tuple[float, float]
) -> ArmCourse:
    """The arm along the inner face of the fender, clear of the plate.

    tab : thickness of the tab; span_v : from where to where it reaches along the mount plane's forward axis, mm
    Raises JobError where the fender is interrupted or the plate leaves no room.
    """
    root = 0.5 * (span_v[0] + span_v[1])
    target = float(station_of(frame.to_axes(np.array([[0.0, root]])))[0])
    count = max(int(np.ceil(abs(target - station_deg) / STEP_DEG)), 2) + 1
    stations = np.linspace(station_deg, target, count)
    inner = crown_radius(job, surface, stations)
    out = point_at(1.0, stations)
    plane = (frame.origin @ frame.up) / np.maximum(out @ frame.up, 0.05)
    along = frame.to_plane(plane[:, None] * out)[0][:, 1]
    in_tab = (along >= span_v[0]) & (along <= span_v[1])
    by_plate = in_tab
    if job.mount.plate is not None:
        by_plate = in_tab | (np.abs(along) <= 0.5 * job.mount.plate[1] + _FREE_MM)
    lower, upper = inner, inner + STRUT_DEPTH_MM
    if job.mount.side == "under":
        upper = np.where(by_plate, np.minimum(upper, plane - 0.2), upper)
        # Inside the tab, neither face may lie in one plane with a face of the tab: solvers dislike that.
        lower = np.where(in_tab, np.minimum(lower, plane - 0.75 * tab), lower)
        upper = np.where(in_tab, plane - 0.25 * tab, upper)
    else:
        lower = np.where(by_plate, np.maximum(lower, plane + 0.3 * tab), lower)
        upper = np.maximum(upper, lower + tab)
    if float((upper - lower).min()) < 1.0:
        at = float(stations[np.argmin(upper - lower)])
        raise JobError("strip station", f"the arm to station {station_deg:g} has no room past the plate at station {at:.0f}")
    return ArmCourse(stations, lower, upper, by_plate)


def crown_radius(job: Job, surface: Surface, stations: Array) -> Array:
    """Radius of the fender's inner face in the center plane at stations (n,). JobError where the fender is interrupted."""
    inward = wall_shares(job.wall)[1]
    low, high = float(stations.min()), float(stations.max())
    for line in side_profile(surface.points - inward * surface.normals, surface.triangles):
        points = np.column_stack([np.zeros(len(line)), -line[:, 0], line[:, 1]])
        station, rho = station_of(points), radius_of(points)
        order = np.argsort(station)
        if station[order[0]] <= low + STEP_DEG and station[order[-1]] >= high - STEP_DEG:
            return np.interp(stations, station[order], rho[order])
    raise JobError(
        "strip station", f"between {low:.0f} and {high:.0f} degrees the fender does not run through; no arm can follow it"
    )


def piece_counts(course: ArmCourse) -> range:
    """In how many pieces the arm may come, the fewest first; 0 for a strip at the root.

    None of them may turn by more than LONGEST_ARM_DEG, nor be too short for its laps.
    """
    turn = abs(float(course.stations[-1] - course.stations[0]))
    if turn < STEP_DEG:
        return range(1)
    least = int(np.ceil(turn / LONGEST_ARM_DEG - 1e-9))
    return range(least, max(least, int(turn / SHORTEST_ARM_DEG)) + 1)


def arm_pieces(course: ArmCourse, count: int) -> tuple[ArmPiece, ...]:
    """The arm in count equal pieces, the strip's first.

    Neighbors share a half lap LAP_MM long with three holes of the bolt's own size. Raises JobError if a lap meets the plate.
    """
    start, target = float(course.stations[0]), float(course.stations[-1])
    cuts = np.linspace(start, target, count + 1)
    lap = np.degrees(0.5 * LAP_MM / float(course.lower.mean())) * np.sign(target - start)
    pieces = []
    for i in range(count):
        first, last = float(cuts[i]), float(cuts[i + 1])
        begin, end = first + lap * (i > 0), last - lap * (i < count - 1)
        solids, holes = [_bar(course, begin, end, -_HALF_MM, _HALF_MM)], []
        if i > 0:
            solids.append(_bar(course, first - lap, begin + 0.2 * lap, -_HALF_MM, -_LAP_GAP_MM))
            holes += _holes(course, first, lap)
        if i < count - 1:
            solids.append(_bar(course, end - 0.2 * lap, last + lap, _LAP_GAP_MM, _HALF_MM))
            holes += _holes(course, last, lap)
        pieces.append(ArmPiece((first - lap * (i > 0), last + lap * (i < count - 1)), tuple(solids), tuple(holes)))
    return tuple(pieces)


def _at(course: ArmCourse, stations: Array) -> tuple[Array, Array]:
    order = np.argsort(course.stations)
    known = course.stations[order]
    return np.interp(stations, known, course.lower[order]), np.interp(stations, known, course.upper[order])


def _bar(course: ArmCourse, begin: float, end: float, low: float, high: float) -> TriangleMesh:
    """The arm from one station to another, between offsets low and high."""
    inside = course.stations[(course.stations - begin) * (course.stations - end) < 0.0]
    stations = np.array([begin, *inside, end])
    out = point_at(1.0, stations)
    edges = [np.column_stack([-(rho * out.T[1]), rho * out.T[2]]) for rho in _at(course, stations)]
    return band_prism(edges[0], edges[1], low, high, _SIDE)


def _holes(course: ArmCourse, middle: float, lap: float) -> list[TriangleMesh]:
    near = np.abs(course.stations - middle) <= abs(lap)
    if course.by_plate[near].any():
        raise JobError(
            "strip station", f"the arm's joint at station {middle:.0f} meets the bracket's plate; choose a station farther off"
        )
    stations = middle + lap * np.array([-0.7, 0.0, 0.7])
    lower, upper = _at(course, stations)
    middles = point_at(0.5 * (lower + upper), stations)
    radius = 0.5 * NOMINAL_DIAMETER[LAP_THREAD]
    return [cylinder([-y, z], radius, -_HALF_MM - 1.0, _HALF_MM + 1.0, _SIDE, sides=32) for _, y, z in middles.tolist()]
