# SPDX-License-Identifier: GPL-3.0-or-later
"""The figures of a section of the finished fender: width, drop, gaps, wall."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.wheel_axes import point_at, radius_of, station_of
from ..bodies.body import Body
from ..mesh.section import section
from ..mesh.triangle_mesh import TriangleMesh

_INSIDE_DEG = 4.0
_ALONG = 1.0


@dataclass(frozen=True, eq=False)
class SectionFigures:
    """outlines : closed polylines (n, 2), mm, (x, rho), the longest first.

    width_mm : over all; drop_mm : of the lower edge below the top; top, bottom : rho; wall_mm : at the center plane, square to
    the axle, None if the center is open there; crown_rho : of the inner face at the center; crown_gap_mm : from there to the tire
    at its largest, wherever that comes nearest,
    least_gap_mm : anywhere in the section, least_at : (x, rho) of that place
    """

    station_deg: float
    outlines: tuple[Array, ...]
    width_mm: float
    drop_mm: float
    top: float
    bottom: float
    wall_mm: float | None
    crown_rho: float | None
    crown_gap_mm: float | None
    least_gap_mm: float
    least_at: tuple[float, float]


def section_figures(mesh: TriangleMesh, tire: Body, station_deg: float) -> SectionFigures:
    """Section of a closed mesh in wheel axes at a station, measured; tire : at its largest.

    Raises ValueError if the mesh does not reach the station.
    """
    outlines = section(mesh.vertices, mesh.triangles, station_deg).polylines
    if not outlines:
        raise ValueError(f"the fender has no section at station {station_deg:g}")
    dense = np.concatenate([_dense(line) for line in outlines])
    gaps = tire.distance(point_at(dense[:, 1], station_deg, dense[:, 0]))
    least = int(np.argmin(gaps))
    center = np.sort(np.concatenate([_crossings(line) for line in outlines]))
    inner = float(center[0]) if len(center) else None
    return SectionFigures(
        station_deg=float(station_deg),
        outlines=outlines,
        width_mm=float(np.ptp(dense[:, 0])),
        drop_mm=float(np.ptp(dense[:, 1])),
        top=float(dense[:, 1].max()),
        bottom=float(dense[:, 1].min()),
        wall_mm=float(center[1] - center[0]) if len(center) >= 2 else None,
        crown_rho=inner,
        crown_gap_mm=None if inner is None else float(tire.distance(point_at(inner, station_deg)[None])[0]),
        least_gap_mm=float(gaps[least]),
        least_at=(float(dense[least, 0]), float(dense[least, 1])),
    )


def section_stations(mesh: TriangleMesh, mount_station_deg: float) -> tuple[float, float, float]:
    """Stations for sections, front first: midway to the front end, at the mount, midway to the rear end; whole degrees."""
    crown = mesh.vertices[np.abs(mesh.vertices[:, 0]) < 0.1 * np.ptp(mesh.vertices[:, 0])]
    reach = station_of(crown[radius_of(crown) > 0.0])
    front, rear = float(reach.max()) - _INSIDE_DEG, float(reach.min()) + _INSIDE_DEG
    mount = round(min(max(mount_station_deg, rear), front))
    return float(round(0.5 * (mount + front))), float(mount), float(round(0.5 * (mount + rear)))


def _dense(line: Array) -> Array:
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = np.union1d(length, np.arange(0.0, length[-1], _ALONG))
    return np.column_stack([np.interp(at, length, line[:, axis]) for axis in (0, 1)])


def _crossings(line: Array) -> Array:
    """rho where a polyline crosses x = 0."""
    a, b = line[:-1], line[1:]
    over = (a[:, 0] > 0.0) != (b[:, 0] > 0.0)
    a, b = a[over], b[over]
    return np.asarray(a[:, 1] + a[:, 0] / (a[:, 0] - b[:, 0]) * (b[:, 1] - a[:, 1]))
