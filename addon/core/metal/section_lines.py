# SPDX-License-Identifier: GPL-3.0-or-later
"""Sections of a face as one line each, in the plane of a board."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from ..base.wheel_axes import point_at
from ..mesh.section import plane_cut


def across_line(points: Array, triangles: Index, station_deg: float, ahead_mm: float = 0.0) -> Array | None:
    """The section with a plane across the bike: (n, 2) float, mm, (x, height from the axle), from +x to -x; None if it is missed.

    ahead_mm : how far the plane lies ahead of the one through the axle. Pieces, as beside a scallop, are led on straight.
    """
    turn = np.radians(station_deg)
    ahead, out = np.array([0.0, -np.cos(turn), -np.sin(turn)]), point_at(1.0, station_deg)
    cut = plane_cut(points, triangles, ahead_mm * ahead, ahead)
    lines = [np.column_stack([line[:, 0], line @ out]) for line in cut]
    return _led_on(
        [line if line[0, 0] >= line[-1, 0] else line[::-1] for line in lines if line[:, 1].mean() > 0.0], descending=True
    )


def along_line(points: Array, triangles: Index, x: float) -> Array | None:
    """The section with the plane at an offset x: (n, 2) float, mm, (forward, up), from the rear to the front; None if it is missed."""
    lines = [
        np.column_stack([-line[:, 1], line[:, 2]])
        for line in plane_cut(points, triangles, np.array([x, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]))
    ]
    return _led_on([line if _station(line[0]) <= _station(line[-1]) else line[::-1] for line in lines], descending=False)


def line_height(line: Array, place: float) -> float:
    """Least height (second column) at which a line passes a place (first column); NaN where it does not."""
    a, b = line[:-1], line[1:]
    crossing = (np.minimum(a[:, 0], b[:, 0]) <= place) & (place <= np.maximum(a[:, 0], b[:, 0]))
    if not crossing.any():
        return float("nan")
    a, b = a[crossing], b[crossing]
    run = b[:, 0] - a[:, 0]
    share = np.divide(place - a[:, 0], run, out=np.zeros(len(run)), where=run != 0.0)
    return float((a[:, 1] + share * (b[:, 1] - a[:, 1])).min())


def _station(point: Array) -> float:
    return float(np.arctan2(point[0], point[1]))


def _led_on(lines: list[Array], descending: bool) -> Array | None:
    if not lines:
        return None
    return np.concatenate(sorted(lines, key=lambda line: -line[0, 0] if descending else _station(line[0])))
