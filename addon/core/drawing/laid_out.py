# SPDX-License-Identifier: GPL-3.0-or-later
"""Flat parts side by side on one sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..base.arrays import Array
from .flat_part import FlatPart, Label

GAP_MM = 10.0


def laid_out(parts: Sequence[FlatPart], width: float) -> tuple[FlatPart, ...]:
    """The parts moved, not turned, into rows no wider than width, mm, or than the widest part, GAP_MM apart; corner at (0, 0).

    Raises ValueError if width is not more than 0.
    """
    if not width > 0.0:
        raise ValueError(f"width: {width:g}, expected more than 0 mm")
    placed, corner, height = [], np.zeros(2), 0.0
    for part in parts:
        low, high = part.bounds
        size = high - low
        if corner[0] > 0.0 and corner[0] + size[0] > width:
            corner, height = np.array([0.0, corner[1] + height + GAP_MM]), 0.0
        placed.append(moved(part, corner - low))
        corner, height = corner + [size[0] + GAP_MM, 0.0], max(height, float(size[1]))
    return tuple(placed)


def moved(part: FlatPart, by: Array) -> FlatPart:
    """The part, shifted by (2,) mm."""
    return replace(
        part,
        rings=tuple(ring + by for ring in part.rings),
        lines=tuple(line + by for line in part.lines),
        labels=tuple(
            Label(label.text, (float(label.at[0] + by[0]), float(label.at[1] + by[1])), label.height, label.anchor)
            for label in part.labels
        ),
    )
