# SPDX-License-Identifier: GPL-3.0-or-later
"""The wall's section at a station, and the named points on it where gaps are read."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError
from ..base.wheel_axes import point_at
from ..bodies.meridian_body import MeridianBody
from ..job.job_sheet import Job
from ..mesh.open_surface import Surface
from ..mesh.section import section
from ..seat.mount import MountFrame
from ..tables.gauge_rules import POINT_SHARES
from ..tire.tire_profile import tire_profile
from ..wall.skin_wall import skin_wall
from .gauge import GaugePoint

_SAMPLES = 241
_SHARE_OF_STRIP = 0.95


def wall_section(job: Job, surface: Surface, station_deg: float) -> tuple[Array, Array]:
    """Inner and outer face of the wall at a station: (n, 2) each, mm, (x, rho), from +x to -x, side by side.

    surface : the whole skin, wheel axes, mm. Raises JobError if the skin does not reach over the center plane there.
    """
    outward, inward = skin_wall(job, surface.points, surface.paint)
    inner, outer = (_face(surface, shift, station_deg) for shift in (-inward, outward))
    return inner, outer


def reading_offsets(job: Job, inner: Array) -> dict[str, float]:
    """Offset x of each reading point on a strip: shares of the tire's half width, but on the strip. inner : (n, 2) float."""
    half = float(tire_profile(job).static[-1, 0])
    reach = _SHARE_OF_STRIP * min(float(inner[0, 0]), -float(inner[-1, 0]))
    offsets: dict[str, float] = {}
    for name, share in POINT_SHARES.items():
        x = min(share * half, reach)
        offsets.update({name: 0.0} if share == 0.0 else {f"L{name}": x, f"R{name}": -x})
    return offsets


def at_offset(face: Array, x: float) -> Array:
    """The point (2,) of a face (n, 2), from +x to -x, at an offset x."""
    return np.array([x, np.interp(-x, -face[:, 0], face[:, 1])])


def gauge_points(job: Job, frame: MountFrame, inner: Array, station_deg: float) -> tuple[GaugePoint, ...]:
    """The named points on the inner face of a strip, with the gaps that the job's sheet expects. inner : (n, 2) float."""
    offsets = reading_offsets(job, inner)
    flat = np.array([at_offset(inner, x) for x in offsets.values()])
    at = point_at(flat[:, 1], station_deg, flat[:, 0])
    gaps = MeridianBody(tire_profile(job).static).distance(at)
    uv, above = frame.to_plane(at)
    local = np.column_stack([uv, above])
    return tuple(GaugePoint(name, station_deg, local[i], float(gaps[i])) for i, name in enumerate(offsets))


def _face(surface: Surface, shift: Array | float, station_deg: float) -> Array:
    moved = np.broadcast_to(shift, len(surface.points))[:, None] * surface.normals
    found = section(surface.points + moved, surface.triangles, station_deg)
    over = [line for line in found.polylines if line[0, 0] > 0.0 > line[-1, 0]]
    if not over:
        raise JobError("strip station", f"{station_deg:g} degrees: the fender has no section there; choose a station on it")
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(over[0], axis=0).T))])
    at = np.linspace(0.0, length[-1], _SAMPLES)
    return np.column_stack([np.interp(at, length, over[0][:, 0]), np.interp(at, length, over[0][:, 1])])
