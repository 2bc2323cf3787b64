# SPDX-License-Identifier: GPL-3.0-or-later
"""The center plane seen from the side: wheel, least allowed line, wall, mount face."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..base.wheel_axes import point_at
from ..bodies.body import Body
from ..bodies.level_curve import level_curve
from ..seat.mount import MountFrame
from ..wall.skin_wall import Shares
from .view_lines import Role, ViewLine
from .wall_cut import wall_cut

_RAYS = 181
_STATION_BEYOND = 1.25


def side_wheel(crown: float, body: Body, required_mm: float, frame: MountFrame) -> tuple[ViewLine, ...]:
    """What does not change while the fender is shaped, in (forward, up), mm.

    crown : mm, radius of the tire as it stands; body : convex, the tire at its largest; required_mm : from it to the inner face
    """
    around = np.linspace(0.0, 360.0, _RAYS)
    rays = point_at(1.0, around)
    levels = [level_curve(body, level, np.zeros(3), rays, 3.0 * crown) for level in (0.0, required_mm)]
    reach = frame.pad + float(np.ptp(frame.bolts_uv[:, 1])) / 2.0
    seat = frame.origin + np.array([[-reach], [reach]]) * frame.forward
    return (
        ViewLine(Role.TIRE, _flat(crown * rays)),
        ViewLine(Role.ENVELOPE, _flat(levels[0])),
        ViewLine(Role.REQUIRED, _flat(levels[1])),
        ViewLine(Role.MOUNT, _flat(seat)),
    )


def side_view(
    wheel: tuple[ViewLine, ...], points: Array, quads: Index, on_plane: Mask, shares: Shares, station_deg: float
) -> tuple[ViewLine, ...]:
    """The side view with the fender in it, and a line where the section is taken; arguments as in section_view."""
    cut = wall_cut(points, quads, on_plane, shares, np.zeros(3), np.array([1.0, 0.0, 0.0]))
    faces = [(Role.OUTER, line) for line in cut.outer] + [(Role.INNER, line) for line in cut.inner]
    crown = float(wheel[0].points[:, 1].max())
    ray = point_at(np.array([0.0, _STATION_BEYOND * crown]), station_deg)
    return (*wheel, *(ViewLine(role, _flat(line)) for role, line in faces), ViewLine(Role.STATION, _flat(ray)))


def _flat(points: Array) -> Array:
    return np.column_stack([-points[:, 1], points[:, 2]])
