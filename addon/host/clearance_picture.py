# SPDX-License-Identifier: GPL-3.0-or-later
"""The rendered clearance map: the skin over the tire from two sides, with a legend in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..core.arrays import Array, Mask
from ..core.clearance_map import clearance_colors, clearance_legend
from ..core.revolved import revolved
from ..core.skin import Skin
from ..core.tables.clearance_map import BLACK
from ..core.wheel_axes import station_of
from .picture_page import HEIGHT, PicturePage, fitted, picture_page, view_axes

_TIRE = np.array([0.42, 0.42, 0.42])
_TIRE_BEYOND_DEG = 6.0
_VIEWS = ((35.0, 22.0, "From the front left"), (-150.0, -20.0, "From the rear, below"))
"""Turn about the vertical and height of the eye, degrees, and caption of each view."""
_VIEW_SIZE = np.array([5.6, 6.0])
_VIEW_LOW = np.array([[0.5, 1.9], [6.5, 1.9]])
_LEGEND_LOW = np.array([12.6, 2.0])
_TEXT = 0.24


@dataclass(frozen=True, eq=False)
class ClearancePicture:
    """What the picture shows.

    skin : the whole skin; excess : (n,) mm above what is required, at each of its points
    profile : (m, 2) offset and radius of the tire at its largest; required_mm : at a tire point
    lines : text at the top
    """

    skin: Skin
    excess: Array
    profile: Array
    required_mm: float
    lines: Sequence[str]


def render_clearance(picture: ClearancePicture, path: Path) -> None:
    """Write the picture as PNG. Needs no window and no graphics processor."""
    with picture_page(path) as page:
        for (turn, height, caption), low in zip(_VIEWS, _VIEW_LOW, strict=True):
            _add_view(page, picture, view_axes(turn, height), low)
            page.text(caption, low + [0.5 * _VIEW_SIZE[0], -0.5], _TEXT, align="CENTER")
        _add_legend(page, picture.required_mm)
        for row, line in enumerate(picture.lines):
            page.text(line, np.array([0.5, HEIGHT - 0.6 - 1.7 * _TEXT * row]), 1.1 * _TEXT)


def _add_view(page: PicturePage, picture: ClearancePicture, axes: Array, low: Array) -> None:
    """The skin as large as its place on the page allows, and the part of the tire that is under it."""
    skin = picture.skin
    scale, shift = fitted(skin.points, axes, low, _VIEW_SIZE)
    colors = clearance_colors(picture.excess, skin.points)[:, :3].astype(np.float64)
    page.mesh(scale * (skin.points @ axes.T) + shift, skin.quads, colors, skin.normals @ axes.T)
    tire, quads, normals = revolved(picture.profile)
    under = _under(tire, station_of(skin.points))
    quads = quads[under[quads].all(axis=1)]
    page.mesh(scale * (tire @ axes.T) + shift, quads, _TIRE, normals @ axes.T)


def _under(points: Array, stations: Array) -> Mask:
    """Points (n,) bool that lie under the fender or little beyond its ends."""
    station = station_of(points)
    return (station > stations.min() - _TIRE_BEYOND_DEG) & (station < stations.max() + _TIRE_BEYOND_DEG)


def _add_legend(page: PicturePage, required_mm: float) -> None:
    size = 1.5 * _TEXT
    steps = clearance_legend(required_mm)
    for row, step in enumerate(steps):
        low = _LEGEND_LOW + [0.0, row * 1.3 * size]
        page.rectangle(low, low + [1.6 * size, size], step.color)
        if step.hatched:
            for stripe in range(3):
                start = low + [(0.1 + 0.5 * stripe) * size, 0.0]
                page.rectangle(start, start + [0.25 * size, size], BLACK, 0.01)
        page.text(step.text, low + [2.0 * size, 0.28 * size], _TEXT)
    top = _LEGEND_LOW + [0.0, (1.3 * len(steps) + 0.1) * size]
    for row, line in enumerate(("the tire at its largest", "of the part's face from", "Clearance that is left")):
        page.text(line, top + [0.0, 0.9 * row * size], _TEXT)
