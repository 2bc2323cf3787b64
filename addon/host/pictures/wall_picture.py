# SPDX-License-Identifier: GPL-3.0-or-later
"""The rendered wall map: the outer face in the colors of its thickness, from two sides, with a legend in mm."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from ...core.base.arrays import Array
from ...core.colors.wall_colors import wall_colors, wall_legend
from ...core.tables.clearance_map import VERMILLION
from ...core.wall.wall_map import WallMap
from .clearance_picture import TEXT, VIEW_LOW, VIEW_SIZE, VIEWS, add_legend
from .picture_page import HEIGHT, PicturePage, fitted, picture_page, view_axes

_ARM, _HALF_WIDTH = 0.16, 0.022
_IN_FRONT = 40.0
"""Sizes of the mark in units of the page: an arm, half its width; and how far it stands before all."""


def render_wall(shown: WallMap, least_mm: float, lines: Sequence[str], path: Path) -> None:
    """Write the picture as PNG. least_mm : that the nozzle can print; lines : text at the top. Needs no window."""
    colors = wall_colors(shown.thickness, shown.points, least_mm)[:, :3].astype(np.float64)
    with picture_page(path) as page:
        for (turn, height, caption), low in zip(VIEWS, VIEW_LOW, strict=True):
            axes = view_axes(turn, height)
            scale, shift = fitted(shown.points, axes, low, VIEW_SIZE)
            page.mesh(scale * (shown.points @ axes.T) + shift, shown.triangles, colors, shown.normals @ axes.T)
            _add_cross(page, scale * (shown.place @ axes.T) + shift)
            page.text(caption, low + [0.5 * VIEW_SIZE[0], -0.5], TEXT, align="CENTER")
        add_legend(
            page, wall_legend(shown.thickness, least_mm), ("Thickness of the", "wall, as measured;", "+ where it is least")
        )
        for row, line in enumerate(lines):
            page.text(line, np.array([0.5, HEIGHT - 0.6 - 1.7 * TEXT * row]), 1.1 * TEXT)


def _add_cross(page: PicturePage, place: Array) -> None:
    """A mark that is seen also where the part is before it."""
    for arm in ((_ARM, _HALF_WIDTH), (_HALF_WIDTH, _ARM)):
        page.rectangle(place[:2] - arm, place[:2] + arm, VERMILLION, _IN_FRONT)
