# SPDX-License-Identifier: GPL-3.0-or-later
"""The rendered difference of two shapes: one of them in color, from two sides, with a legend in mm."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from ...core.colors.difference_colors import difference_colors, difference_legend, difference_span
from ...core.skin.skin import Skin
from ...core.variants.shape_difference import ShapeDifference
from .clearance_picture import TEXT, VIEW_LOW, VIEW_SIZE, VIEWS, add_legend
from .picture_page import HEIGHT, fitted, picture_page, view_axes


def render_difference(shape: Skin, difference: ShapeDifference, lines: Sequence[str], path: Path) -> None:
    """Write the picture as PNG. shape : the whole skin that is shown; difference : of its points; lines : text at the top."""
    span = difference_span(difference.out, difference.beyond)
    colors = difference_colors(difference.out, difference.beyond, span)[:, :3].astype(np.float64)
    with picture_page(path) as page:
        for (turn, height, caption), low in zip(VIEWS, VIEW_LOW, strict=True):
            axes = view_axes(turn, height)
            scale, shift = fitted(shape.points, axes, low, VIEW_SIZE)
            page.mesh(scale * (shape.points @ axes.T) + shift, shape.quads, colors, shape.normals @ axes.T)
            page.text(caption, low + [0.5 * VIEW_SIZE[0], -0.5], TEXT, align="CENTER")
        add_legend(page, difference_legend(span), ("How far this shape", "lies outside (+) or", "inside (-) of the first"))
        for row, line in enumerate(lines):
            page.text(line, np.array([0.5, HEIGHT - 0.6 - 1.7 * TEXT * row]), 1.1 * TEXT)
