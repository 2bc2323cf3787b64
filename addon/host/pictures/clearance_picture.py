# SPDX-License-Identifier: GPL-3.0-or-later
"""The rendered clearance map: the skin over the tire from two sides, with a legend in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ...core.base.arrays import Array, Mask
from ...core.base.wheel_axes import station_of
from ...core.bodies.revolved import revolved
from ...core.colors.clearance_map import LegendStep, clearance_colors, clearance_legend
from ...core.mesh.triangle_mesh import TriangleMesh
from ...core.skin.skin import Skin
from ...core.tables.clearance_map import BLACK
from .picture_page import HEIGHT, PicturePage, fitted, picture_page, view_axes

_TIRE = np.array([0.42, 0.42, 0.42])
_TIRE_BEYOND_DEG = 6.0
VIEWS = ((35.0, 22.0, "From the front left"), (-150.0, -20.0, "From the rear, below"))
"""Turn about the vertical and height of the eye, degrees, and caption of each view of a map."""
VIEW_SIZE = np.array([5.6, 6.0])
VIEW_LOW = np.array([[0.5, 1.9], [6.5, 1.9]])
_LEGEND_LOW = np.array([12.6, 2.0])
TEXT = 0.24


@dataclass(frozen=True, eq=False)
class ClearancePicture:
    """What the picture shows.

    skin : the whole skin; excess : (n,) mm above what is required, at each of its points
    hardware : heads and nuts, and the same (h,) at their vertices
    profile : (m, 2) offset and radius of the tire at its largest; required_mm : at a tire point
    lines : text at the top
    """

    skin: Skin
    excess: Array
    hardware: tuple[TriangleMesh, Array]
    profile: Array
    required_mm: float
    lines: Sequence[str]


def render_clearance(picture: ClearancePicture, path: Path) -> None:
    """Write the picture as PNG. Needs no window and no graphics processor."""
    with picture_page(path) as page:
        for (turn, height, caption), low in zip(VIEWS, VIEW_LOW, strict=True):
            _add_view(page, picture, view_axes(turn, height), low)
            page.text(caption, low + [0.5 * VIEW_SIZE[0], -0.5], TEXT, align="CENTER")
        add_legend(
            page,
            clearance_legend(picture.required_mm),
            ("Clearance that is left", "of the part's face from", "the tire at its largest"),
        )
        for row, line in enumerate(picture.lines):
            page.text(line, np.array([0.5, HEIGHT - 0.6 - 1.7 * TEXT * row]), 1.1 * TEXT)


def _add_view(page: PicturePage, picture: ClearancePicture, axes: Array, low: Array) -> None:
    """The skin as large as its place on the page allows, and the part of the tire that is under it."""
    skin = picture.skin
    scale, shift = fitted(skin.points, axes, low, VIEW_SIZE)
    colors = clearance_colors(picture.excess, skin.points)[:, :3].astype(np.float64)
    page.mesh(scale * (skin.points @ axes.T) + shift, skin.quads, colors, skin.normals @ axes.T)
    screws, over = picture.hardware
    if len(screws.vertices):
        shown = clearance_colors(over, screws.vertices)[:, :3].astype(np.float64)
        page.mesh(scale * (screws.vertices @ axes.T) + shift, screws.triangles, shown)
    tire, quads, normals = revolved(picture.profile)
    under = _under(tire, station_of(skin.points))
    quads = quads[under[quads].all(axis=1)]
    page.mesh(scale * (tire @ axes.T) + shift, quads, _TIRE, normals @ axes.T)


def _under(points: Array, stations: Array) -> Mask:
    """Points (n,) bool that lie under the fender or little beyond its ends."""
    station = station_of(points)
    return (station > stations.min() - _TIRE_BEYOND_DEG) & (station < stations.max() + _TIRE_BEYOND_DEG)


def add_legend(page: PicturePage, steps: Sequence[LegendStep], title: Sequence[str]) -> None:
    """The fields of a legend, one over the other, and its title in lines."""
    size = 1.5 * TEXT
    for row, step in enumerate(steps):
        low = _LEGEND_LOW + [0.0, row * 1.3 * size]
        page.rectangle(low, low + [1.6 * size, size], step.color)
        if step.hatched:
            for stripe in range(3):
                start = low + [(0.1 + 0.5 * stripe) * size, 0.0]
                page.rectangle(start, start + [0.25 * size, size], BLACK, 0.01)
        page.text(step.text, low + [2.0 * size, 0.28 * size], TEXT)
    top = _LEGEND_LOW + [0.0, (1.3 * len(steps) + 0.1) * size]
    for row, line in enumerate(reversed(title)):
        page.text(line, top + [0.0, 0.9 * row * size], TEXT)
