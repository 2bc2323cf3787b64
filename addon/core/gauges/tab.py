# SPDX-License-Identifier: GPL-3.0-or-later
"""The tab by which a crown strip hangs from the mount face."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.convex_polygon import convex_hull
from ..base.wheel_axes import point_at
from ..job.job_sheet import Job
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.mount import MountFrame
from ..tables.fasteners import CLEARANCE_HOLE, PLAIN_WASHER
from ..tables.gauge_rules import PLATE_MM, STRUT_DEPTH_MM, STRUT_WIDTH_MM
from .prisms import Place, convex_prism, cylinder, frame_place

_OUTLINE_POINTS = 120
_FREE_MM = 2.0
_TOOL_MM = 40.0
_APART_MM = 0.02
"""Cutters end this far from faces that they run along: two faces in one plane leave slivers."""


@dataclass(frozen=True, eq=False)
class Tab:
    """solid : closed, wheel axes; cuts : bolt holes, room for washer and tool, and the plate. thickness, mm
    outline : (n, 2) float, mm, (u, v) of the mount plane; the outline of the seat, widened to hold the arm's root
    """

    solid: TriangleMesh
    cuts: tuple[TriangleMesh, ...]
    thickness: float
    outline: Array

    @property
    def span_v(self) -> tuple[float, float]:
        """From where to where the tab reaches forward in the mount plane, mm."""
        return float(self.outline[:, 1].min()), float(self.outline[:, 1].max())


def tab(job: Job, frame: MountFrame) -> Tab:
    """The tab against the mount face, on the fender's side of it."""
    under = job.mount.side == "under"
    thickness = max(PLATE_MM, job.wall.thickness)
    rim = frame.outline(_OUTLINE_POINTS)
    angle = np.linspace(0.0, 2.0 * np.pi, 32, endpoint=False)
    root = [0.0, 0.5 * (rim[:, 1].min() + rim[:, 1].max())]
    outline = convex_hull(np.concatenate([rim, 0.75 * STRUT_WIDTH_MM * np.column_stack([np.cos(angle), np.sin(angle)]) + root]))
    low, high = (-thickness, 0.0) if under else (0.0, thickness)
    plane = frame_place(frame.origin, frame.x, frame.forward, frame.up)
    cuts = _bolt_cuts(job, frame, low, high, plane)
    if job.mount.plate is not None and under:
        cuts = (*cuts, _plate_cut(job.mount.plate, plane))
    return Tab(convex_prism(outline, low, high, plane), cuts, thickness, outline)


def blocked_half_width(job: Job, frame: MountFrame, made: Tab, station_deg: float, half_strip: float) -> float:
    """Half of the width over the outer face of a strip that arm, plate or bolts need, mm. half_strip : of its width."""
    wanted = 0.5 * STRUT_WIDTH_MM + 1.0
    out = point_at(1.0, station_deg)
    slope = float(out @ frame.up)
    if slope < 0.2:
        return wanted
    place = out * (frame.origin @ frame.up) / slope
    v = float(frame.to_plane(place[None])[0][0, 1])
    half_width, (behind, ahead) = float(np.abs(made.outline[:, 0]).max()), made.span_v
    if job.mount.plate is not None and job.mount.side == "under":
        half_width = max(half_width, 0.5 * job.mount.plate[0])
        behind, ahead = min(behind, -0.5 * job.mount.plate[1]), max(ahead, 0.5 * job.mount.plate[1])
    by_mount = behind - half_strip - _FREE_MM <= v <= ahead + half_strip + _FREE_MM
    return half_width + _FREE_MM if by_mount else wanted


def _bolt_cuts(job: Job, frame: MountFrame, low: float, high: float, plane: Place) -> tuple[TriangleMesh, ...]:
    hole = 0.5 * CLEARANCE_HOLE[job.mount.thread][job.mount.fit]
    washer = 0.5 * PLAIN_WASHER[job.mount.thread].outer + 0.5
    under = job.mount.side == "under"
    free = (low - _TOOL_MM, low - _APART_MM) if under else (high + _APART_MM, high + _TOOL_MM)
    cuts = []
    for bolt in frame.bolts_uv:
        cuts.append(cylinder(bolt, hole, low - 1.0, high + 1.0, plane))
        cuts.append(cylinder(bolt, washer, *free, plane))
    return tuple(cuts)


def _plate_cut(plate: tuple[float, float, float], plane: Place) -> TriangleMesh:
    """The bracket's plate, taller, so that nothing of the gauge stands above the mount face under it."""
    half = 0.5 * np.array(plate[:2])
    box = half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    return convex_prism(box, _APART_MM, plate[2] + STRUT_DEPTH_MM, plane)
