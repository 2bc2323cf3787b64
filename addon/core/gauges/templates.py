# SPDX-License-Identifier: GPL-3.0-or-later
"""The gauges as drawings at full size, to cut from paper or card."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.convex_polygon import polygon_distance
from ..base.wheel_axes import point_at
from ..drawing.drawing import Drawing, Mark, Stroke, circle, cross
from ..job.job_sheet import Job
from ..mesh.open_surface import Surface
from ..seat.mount import MountFrame
from ..tables.fasteners import CLEARANCE_HOLE
from ..tire.tire_profile import tire_profile
from .gauge import GaugePoint
from .strip_points import at_offset, gauge_points, reading_offsets, wall_section
from .tire_comb import comb_edge

_EDGE_MM = 30.0
_ROWS = 20
_NOTE = "Check the 100 mm bar with a rule before you trust the paper; print at 100 %, never fitted to the page."


def comb_template(job: Job) -> Drawing:
    """The tire's profile at gap 0: cut along the thick line, hold the card square to the tread."""
    edge = comb_edge(np.array(tire_profile(job).static))
    crown = float(edge[:, 1].max())
    edge = edge - [0.0, crown]
    low, wide = float(edge[-1, 1]), float(edge[-1, 0]) + 12.0
    frame = np.array([[edge[-1, 0], low], [wide, low], [wide, _EDGE_MM], [-wide, _EDGE_MM], [-wide, low], [edge[0, 0], low]])
    center = Stroke(np.array([[0.0, 0.0], [0.0, _EDGE_MM]]), 0.15, dashed=True)
    marks = (
        Mark("rider's left ->", (0.5 * wide, 14.0)),
        Mark("tire comb", (-0.5 * wide, 14.0)),
        Mark("center", (0.0, _EDGE_MM + 2.0), 2.5),
    )
    notes = (_NOTE, "Seen from the front of the bike. It lies on the tire without a gap if the profile is right.")
    return Drawing("tire_comb", "Tire comb", (Stroke(edge, 0.5), Stroke(frame), center), marks, notes, True)


def strip_template(job: Job, frame: MountFrame, surface: Surface, station_deg: float) -> Drawing:
    """The fender's section at a station, over the tire as the sheet has it, with the gaps to read at the named points.

    Seen from the front of the bike; x = 0 is the center plane, y = 0 the tire's crown.
    """
    inner, outer = wall_section(job, surface, station_deg)
    profile = comb_edge(np.array(tire_profile(job).static))
    crown = float(profile[:, 1].max())
    zero = np.array([0.0, crown])
    outline = np.concatenate([inner, outer[::-1], inner[:1]]) - zero
    strokes = [Stroke(outline, 0.5), Stroke(profile - zero, 0.3, dashed=True)]
    marks = [Mark(f"station {station_deg:+g}", (0.0, float(outline[:, 1].max()) + 6.0)), Mark("tire", (0.0, -6.0))]
    by_name = {point.name: point for point in gauge_points(job, frame, inner, station_deg)}
    for name, x in reading_offsets(job, inner).items():
        on_inner, on_outer = at_offset(inner, x) - zero, at_offset(outer, x) - zero
        strokes.append(Stroke(np.array([on_inner, on_outer]), 0.2))
        marks.append(Mark(f"{name} {by_name[name].expected_mm:.1f}", (float(on_inner[0]), float(on_inner[1]) - 5.0), 2.5))
    plane = _mount_line(frame, station_deg)
    if plane is not None:
        strokes.append(Stroke(np.array([[-25.0, plane - crown], [25.0, plane - crown]]), 0.2, dashed=True))
        marks.append(Mark("mount face", (40.0, plane - crown), 2.5))
    notes = (
        _NOTE,
        "Cut along the thick line and hold the card in the plane through the axle. Figures: gap to the tire in mm.",
    )
    return Drawing(
        f"crown_strip_{station_deg:+.0f}", f"Crown strip at station {station_deg:+g}", tuple(strokes), tuple(marks), notes, True
    )


def drilling_template(job: Job, frame: MountFrame) -> Drawing:
    """The bolt pattern, seen from above: rider's left is on the left, the bike's front is up."""
    mirror = np.array([-1.0, 1.0])
    rim = frame.outline(240) * mirror
    hole = 0.5 * CLEARANCE_HOLE[job.mount.thread][job.mount.fit]
    reach = np.abs(rim).max(axis=0) + 6.0
    axes = (
        Stroke(np.array([[-reach[0], 0.0], [reach[0], 0.0]]), 0.15, True),
        Stroke(np.array([[0.0, -reach[1]], [0.0, reach[1]]]), 0.15, True),
    )
    holes = [
        stroke for u, v in (frame.bolts_uv * mirror).tolist() for stroke in (circle((u, v), hole), *cross((u, v), hole + 3.0))
    ]
    marks = [
        Mark("front of the bike", (0.0, float(reach[1]) + 3.0)),
        Mark("rider's left", (-float(reach[0]) - 3.0, 2.0), 2.5, "right"),
    ]
    for x, ahead in job.mount.bolts:
        marks.append(Mark(f"{x:+g}, {ahead:+g}", (-x, ahead - hole - 7.0), 2.5))
    strokes = [Stroke(np.concatenate([rim, rim[:1]]), 0.5), *axes, *holes]
    if job.mount.plate is not None:
        strokes.append(Stroke(_rectangle(job.mount.plate[0], job.mount.plate[1]), 0.3, dashed=True))
        marks.append(Mark("bracket's plate", (2.0, -0.5 * job.mount.plate[1] - 4.0), 2.5, "left"))
    notes = (
        _NOTE,
        f"Seen from above, whichever side the fender bears on. Holes for {job.mount.thread}; figures: mm left and ahead.",
    )
    return Drawing("drilling_gauge", "Drilling gauge", tuple(strokes), tuple(marks), notes, True)


def record_sheet(points: tuple[GaugePoint, ...]) -> Drawing:
    """A form to write the gaps in: each named point with the expected gap and a line for the reading."""
    marks, strokes = [], []
    for i, point in enumerate(points):
        column, row = divmod(i, _ROWS)
        x, y = 95.0 * column, -9.0 * row
        marks.append(
            Mark(f"station {point.station_deg:+g}  {point.name}   expected {point.expected_mm:.1f}", (x, y), 2.5, "left")
        )
        strokes.append(Stroke(np.array([[x + 62.0, y - 1.0], [x + 86.0, y - 1.0]]), 0.2))
    notes = (
        "Gaps between strip and tire at the notches, in mm, by feelers or drill shanks: the thickest that passes without force.",
        "Strip tight on the mount face, wheel turned to the same place for all, or three places averaged.",
        "C is the crown, L and R are the rider's left and right, 1 inside and 2 outside.",
        "Gaps alone do not tell the distance ahead from the tilt: write down a level's reading on the mount face too.",
    )
    return Drawing("gaps", "Gaps to read", tuple(strokes), tuple(marks), notes)


def _mount_line(frame: MountFrame, station_deg: float) -> float | None:
    """Radius of the mount plane in the center plane at a station, if the station passes through the seat."""
    out = point_at(1.0, station_deg)
    slope = float(out @ frame.up)
    if slope < 0.2:
        return None
    rho = float(frame.origin @ frame.up) / slope
    uv, _ = frame.to_plane(rho * out)
    return rho if float(polygon_distance(frame.hull_uv, uv[None])[0]) <= frame.pad else None


def _rectangle(width: float, length: float) -> Array:
    x, y = 0.5 * width, 0.5 * length
    return np.array([[-x, -y], [x, -y], [x, y], [-x, y], [-x, -y]])
