# SPDX-License-Identifier: GPL-3.0-or-later
"""Bolt holes and keys in a flange."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, frozen
from ..mesh.prism import prism
from ..mesh.triangle_mesh import TriangleMesh
from ..tables.fasteners import CLEARANCE_HOLE, PLAIN_WASHER
from ..tables.mold_rules import FLANGE_BOLT_PITCH_MM, FLANGE_THREAD, KEY_HEIGHT_MM, KEY_RADIUS_MM
from .flanged_shell import FlangedShell

LEAST_WIDTH_MM = PLAIN_WASHER[FLANGE_THREAD].outer + 2.0 * KEY_RADIUS_MM
"""Of a flange with bolts and keys: a washer, and a key's width beside it."""
_SIDES = 32
_RINGS = 6
_SHARE = 0.55
"""Of the flange's width from its bend to bolts and keys."""


@dataclass(frozen=True, eq=False)
class FlangeFittings:
    """bolts, keys : (k, 3) float, mm, on the face of the flange; bolt_ups, key_ups : (k, 3) float, unit, square to it"""

    bolts: Array
    bolt_ups: Array
    keys: Array
    key_ups: Array

    @property
    def places(self) -> Array:
        """(k, 3) float, all of them."""
        return np.concatenate([self.bolts, self.keys])


def flange_fittings(shell: FlangedShell) -> FlangeFittings:
    """Bolts at equal steps of about the usual pitch along the flange, a key half way between each two.

    They begin half a step beside the center plane in front, so that a flange alike on both sides gets them alike. Where the flange
    is too narrow for a washer there are none.
    """
    ring = _outer_ring(shell)
    line = shell.base[ring] + _SHARE * shell.width[ring, None] * shell.way[ring]
    start = int(np.argmin(np.abs(line[:, 0]) + 1e3 * (line[:, 1] > line[:, 1].mean())))
    ring, line = np.append(np.roll(ring, -start), ring[start]), np.roll(line, -start, axis=0)
    closed = np.concatenate([line, line[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    # from where the line crosses the center plane, not from the section next to it
    step_x = line[1, 0] - line[0, 0]
    offset = -line[0, 0] / step_x * along[1] if step_x else 0.0
    count = 2 * max(2, round(along[-1] / FLANGE_BOLT_PITCH_MM / 2.0))
    step = along[-1] / count
    bolts = _at(along, ring, offset + step * (np.arange(count) + 0.5), shell)
    keys = _at(along, ring, offset + step * np.arange(count), shell)
    return FlangeFittings(*bolts, *keys)


def _at(along: Array, ring: Index, places: Array, shell: FlangedShell) -> tuple[Array, Array]:
    places = np.mod(places, along[-1])
    points, ups, width = (
        np.stack([np.interp(places, along, column) for column in values.T], axis=1)
        for values in (
            shell.base[ring] + _SHARE * shell.width[ring, None] * shell.way[ring],
            shell.up[ring],
            shell.width[ring, None],
        )
    )
    wide = width[:, 0] >= LEAST_WIDTH_MM
    return frozen(points[wide]), frozen((ups / np.linalg.norm(ups, axis=1, keepdims=True))[wide])


def _outer_ring(shell: FlangedShell) -> Index:
    """The sections of the longest edge, in order."""
    left = np.ones(len(shell.after), bool)
    best: list[int] = []
    length = -1.0
    for first in range(len(left)):
        if not left[first]:
            continue
        ring = [first]
        while (follower := int(shell.after[ring[-1]])) != first:
            ring.append(follower)
        left[ring] = False
        own = float(np.linalg.norm(shell.base[shell.after[ring]] - shell.base[ring], axis=1).sum())
        if own > length:
            best, length = ring, own
    return np.array(best)


def bolt_cutter(place: Array, up: Array, reach: float) -> TriangleMesh:
    """The hole of a bolt through a flange. place : (3,) on its face; up : (3,) unit; reach : mm to both sides"""
    return prism(place - reach * up, place + reach * up, 0.5 * CLEARANCE_HOLE[FLANGE_THREAD]["medium"], _SIDES)


def key_dome(place: Array, up: Array, sink: float, grow: float = 0.0) -> TriangleMesh:
    """A domed key: a cap of a sphere over the face, on a foot that reaches into the flange.

    place : (3,) float, mm, on the face; up : (3,) float, unit; sink : mm that the foot reaches in; grow : mm larger all round
    """
    radius, height = KEY_RADIUS_MM + grow, KEY_HEIGHT_MM + grow
    ball = (radius**2 + height**2) / (2.0 * height)
    widest = np.arcsin(radius / ball)
    angle = widest * (1.0 - np.arange(_RINGS) / _RINGS)
    levels = [
        (-sink, radius),
        *zip((height - ball + ball * np.cos(angle)).tolist(), (ball * np.sin(angle)).tolist(), strict=True),
    ]
    one = np.cross(up, np.eye(3)[int(np.argmin(np.abs(up)))])
    one /= np.linalg.norm(one)
    turn = 2.0 * np.pi * np.arange(_SIDES) / _SIDES
    circle = np.cos(turn)[:, None] * one + np.sin(turn)[:, None] * np.cross(up, one)
    rings = [place + at * up + around * circle for at, around in levels]
    points = np.concatenate([*rings, (place - sink * up)[None], (place + height * up)[None]])
    here, after = np.arange(_SIDES), np.roll(np.arange(_SIDES), -1)
    bottom, top = len(points) - 2, len(points) - 1
    parts = [np.stack([after, here, np.full(_SIDES, bottom)], axis=1)]
    for level in range(len(levels) - 1):
        low, high = level * _SIDES, (level + 1) * _SIDES
        parts += [
            np.stack([here + low, after + low, after + high], axis=1),
            np.stack([here + low, after + high, here + high], axis=1),
        ]
    last = (len(levels) - 1) * _SIDES
    parts.append(np.stack([here + last, after + last, np.full(_SIDES, top)], axis=1))
    return TriangleMesh(points, np.concatenate(parts))
