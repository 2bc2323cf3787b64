# SPDX-License-Identifier: GPL-3.0-or-later
"""The section of a flange: past the trim line the skin goes on, bends off, and runs square to the pull."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.row_vectors import dot_rows

_ARC_POINTS = 7
"""Of the bend: steps under 15 degrees at a right angle."""


@dataclass(frozen=True)
class FlangeShape:
    """What a flange is to be, mm.

    pull : (3,) way that the mold leaves the plug; mirrored : True if what is at x < 0 leaves it by the mirror image of that way
    width : past the bend; margin : of skin past the trim line; radius : of the bend, more than any shell on it is thick
    scribe_width, scribe_depth : of the groove along the trim line; depth 0 for none; scribe_at : where it is, past the bend, None for
        where the skin of the sheet ends; straight : True if the skin only goes on, without a bend
    """

    pull: tuple[float, float, float]
    width: float
    margin: float
    radius: float
    scribe_width: float
    scribe_depth: float
    straight: bool = False
    mirrored: bool = False
    scribe_at: float | None = None


def bend_angles(out: Array, normals: Array, pull: Array) -> Array:
    """(s,) float, radians: how far a section turns from the way out toward the normal until it is square to the pull.

    out, normals : (s, 3) float, unit, square to each other; pull : (s, 3) float, unit
    cos(a) out + sin(a) normal is square to the pull; of the two such ways the one nearer to `out`.
    """
    away, toward = dot_rows(out, pull), dot_rows(normals, pull)
    angle = np.arctan2(-away, toward)
    return np.asarray(np.where(np.abs(angle) > 0.5 * np.pi + _PAST_UPRIGHT, angle - np.sign(angle) * np.pi, angle))


_PAST_UPRIGHT = np.radians(50.0)
"""A flange still turns this far past upright, on skin that is tucked in, before its other way is taken."""


def flange_lines(angle: Array, width: Array, thickness: float, shape: FlangeShape) -> tuple[Array, Array]:
    """The two lines of each section, (s, k, 2) and (s, j, 2) float, mm: along the normal and out, from the edge of the skin.

    angle : (s,) radians, see bend_angles; width : (s,) mm, past the bend
    thickness : mm, over 0 where the second line lies on the far side of the normal (a plug), under 0 on its near side (a mold)
    The first is the surface that touches the mold, with the groove; the second goes on from the other face of the wall.
    """
    groove = np.array([[-shape.scribe_depth, 0.5 * shape.scribe_width], [0.0, shape.scribe_width]])
    grooves = np.broadcast_to(groove, (len(angle), 2, 2))
    if shape.straight:
        end = np.stack([np.zeros(len(width)), shape.margin + width], axis=1)[:, None, :]
        return np.concatenate([grooves, end], axis=1), end - np.array([thickness, 0.0])
    step = np.linspace(0.0, 1.0, _ARC_POINTS)[None, :] * angle[:, None]
    first = _bent(step, np.full(len(angle), shape.radius), width, shape.margin, angle)
    signed = np.where(angle >= 0.0, 1.0, -1.0)
    second = _bent(step, shape.radius + signed * thickness, width, shape.margin, angle)
    second = second - np.array([thickness, 0.0])
    if shape.scribe_depth == 0.0:
        return first, second
    if shape.scribe_at is None:
        return np.concatenate([grooves, first], axis=1), second
    return _scribed(first, angle, width, shape), second


def _scribed(line: Array, angle: Array, width: Array, shape: FlangeShape) -> Array:
    """The line with the groove on its flange."""
    along = np.stack([np.sin(angle), np.cos(angle)], axis=1)
    down = np.stack([-np.cos(angle), np.sin(angle)], axis=1)
    bend, wide = line[:, -2], shape.scribe_width
    # a flange too narrow for the part's edge has it at its end, flat
    at = np.minimum(shape.scribe_at or 0.0, np.maximum(width - 2.0 * wide, _LEAST_MM))
    depth = np.where(width > at + 1.5 * wide, shape.scribe_depth, 0.0)
    steps = ((at, 0.0), (at + 0.5 * wide, 1.0), (at + wide, 0.0))
    grooved = [bend + step[:, None] * along + (deep * depth)[:, None] * down for step, deep in steps]
    return np.concatenate([line[:, :-1], np.stack(grooved, axis=1), line[:, -1:]], axis=1)


_LEAST_MM = 0.1


def _bent(step: Array, radius: Array, width: Array, margin: float, angle: Array) -> Array:
    """(s, k, 2): margin, arc and flange, along the normal and out."""
    side = np.where(angle >= 0.0, 1.0, -1.0)[:, None]
    turn = np.abs(step)
    rise = side * radius[:, None] * (1.0 - np.cos(turn))
    reach = margin + radius[:, None] * np.sin(turn)
    end = np.stack([rise[:, -1] + width * np.sin(angle), reach[:, -1] + width * np.cos(angle)], axis=1)
    return np.concatenate([np.stack([rise, reach], axis=2), end[:, None, :]], axis=1)
