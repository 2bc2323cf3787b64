# SPDX-License-Identifier: GPL-3.0-or-later
"""A flat part: what is cut from a board or card, and what is marked on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, frozen
from .drawing import Drawing, Mark, Stroke


@dataclass(frozen=True, eq=False)
class Label:
    """A text at a point (2,), mm; height : of capitals, mm; anchor : which part of the text is at the point"""

    text: str
    at: tuple[float, float]
    height: float = 4.0
    anchor: str = "center"


@dataclass(frozen=True, eq=False)
class FlatPart:
    """A part in its plane, mm.

    name : short, as it is marked on the part; title : what it is
    rings : (n, 2) float each, closed without repeating a point, to cut: outer ones counterclockwise, holes clockwise
    lines : (n, 2) float each, to mark; notes : sentences beside it
    """

    name: str
    title: str
    rings: tuple[Array, ...]
    lines: tuple[Array, ...] = ()
    labels: tuple[Label, ...] = ()
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name in ("rings", "lines"):
            object.__setattr__(self, name, tuple(frozen(each).reshape(-1, 2) for each in getattr(self, name)))

    @property
    def bounds(self) -> Array:
        """(2, 2) float, mm: least and greatest coordinates of all that is cut."""
        points = np.concatenate(self.rings)
        return np.stack([points.min(axis=0), points.max(axis=0)])


def part_drawing(part: FlatPart) -> Drawing:
    """The part for paper at full size."""
    strokes = [Stroke(np.vstack([ring, ring[:1]]), 0.35) for ring in part.rings]
    strokes += [Stroke(line, 0.15, dashed=True) for line in part.lines]
    marks = tuple(Mark(label.text, label.at, label.height, label.anchor) for label in part.labels)
    return Drawing(part.name, f"{part.name}: {part.title}", tuple(strokes), marks, part.notes, to_scale=True)
