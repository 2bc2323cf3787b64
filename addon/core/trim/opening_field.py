# SPDX-License-Identifier: GPL-3.0-or-later
"""Slots and round openings as fields over the skin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, frozen
from ..base.row_vectors import unit_rows
from ..base.wheel_axes import point_at
from ..mesh.open_surface import Surface
from ..mesh.skin_ray import longest_diagonal, skin_ray
from .trim_edge import Field


@dataclass(frozen=True, eq=False)
class OpeningFrame:
    """Where an opening is. center : (3,) float, mm; axes : (3, 3) float, rows: along its length, across, outward normal"""

    center: Array
    axes: Array

    def __post_init__(self) -> None:
        for name in ("center", "axes"):
            object.__setattr__(self, name, frozen(getattr(self, name)))


def opening_frame(surface: Surface, station: float, x: float, turn: float) -> OpeningFrame | None:
    """The frame on the skin, as seen from the axle at a station (degrees) and an offset x, mm; None if there is no skin.

    turn : degrees from the way forward to the opening's length, toward the rider's left
    """
    origin, outward = np.array([x, 0.0, 0.0]), point_at(1.0, station)
    hit = skin_ray(origin, outward, surface.points, surface.triangles, longest_diagonal(surface.points, surface.triangles))
    if hit is None:
        return None
    normal = unit_rows((hit.weights @ surface.normals[hit.corners])[None])[0]
    along = point_at(1.0, station + 90.0)
    forward = unit_rows((along - (along @ normal) * normal)[None])[0]
    left = np.cross(normal, forward)
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    return OpeningFrame(hit.point, np.stack([cos * forward + sin * left, cos * left - sin * forward, normal]))


def mirrored(frame: OpeningFrame) -> OpeningFrame:
    """The frame on the other side of the bike."""
    flip = np.array([-1.0, 1.0, 1.0])
    return OpeningFrame(frame.center * flip, frame.axes * flip)


def opening_field(frame: OpeningFrame, length: float, width: float) -> Field:
    """A slot with round ends, or a circle where length and width are equal, seen square to the skin at its center.

    length, width : mm, over all, length >= width
    """
    straight, radius = 0.5 * (length - width), 0.5 * width

    def field(points: Array, normals: Array) -> tuple[Array, Array]:
        at = (points - frame.center) @ frame.axes.T
        past = at[:, 0] - np.clip(at[:, 0], -straight, straight)
        gap = np.sqrt(past * past + at[:, 1] ** 2)
        safe = np.where(gap > 0.0, gap, 1.0)[:, None]
        gradient = np.column_stack([past, at[:, 1], np.zeros(len(at))]) / safe @ frame.axes
        # other walls of the fender, above or below, are not meant
        apart = (np.abs(at[:, 2]) > length) | ((normals @ frame.axes[2]) <= 0.0)
        return np.where(apart, np.maximum(gap - radius, length), gap - radius), gradient

    return field
