# SPDX-License-Identifier: GPL-3.0-or-later
"""The board that stands on the center line of a plug while the first of two mold pieces is laid up to it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..base.arrays import Array, frozen
from ..base.errors import ShapeError
from ..mesh.prism import slab
from ..mesh.section import side_profile
from ..mesh.triangle_mesh import TriangleMesh
from ..tables.mold_rules import FLANGE_BOLT_PITCH_MM

_SHARE = 0.55
"""Of the board's width from the plug to bolts and keys."""
_STEP_MM = 1.0


@dataclass(frozen=True, eq=False)
class PartingBoard:
    """mesh : closed, its face in the center plane toward the left; bolts, keys : (k, 3) float, mm, on that face"""

    mesh: TriangleMesh
    bolts: Array
    keys: Array


def parting_board(plug: TriangleMesh, width: float, thickness: float) -> PartingBoard:
    """The board over the center line of a plug, flange included, as wide as the plug's flange, away from the axle.

    plug : closed shell, wheel axes, mm; width, thickness : mm. The left piece of the mold is laid up to its face at x = 0.
    Raises ShapeError if the plug does not cross the center plane.
    """
    line = _upper_line(plug)
    far = line + width * line / np.linalg.norm(line, axis=1, keepdims=True)
    count = len(line)
    flat = np.concatenate([line, far])
    here = np.arange(count - 1)
    triangles = np.concatenate(
        [np.stack([here, here + 1, here + count + 1], axis=1), np.stack([here, here + count + 1, here + count], axis=1)]
    )
    edge = np.concatenate([np.arange(count), np.arange(2 * count - 1, count - 1, -1)])
    faces = [np.column_stack([np.full(2 * count, x), -flat[:, 0], flat[:, 1]]) for x in (0.0, -thickness)]
    mesh = slab(faces[0], faces[1], triangles, edge)
    middle = line + _SHARE * (far - line)
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(middle, axis=0), axis=1))])
    number = max(2, round(along[-1] / FLANGE_BOLT_PITCH_MM))
    step = along[-1] / number
    return PartingBoard(
        mesh, _at(middle, along, step * (np.arange(number) + 0.5)), _at(middle, along, step * np.arange(1, number))
    )


def _upper_line(plug: TriangleMesh) -> Array:
    """(n, 2) float, forward and up: what of the plug is farthest from the axle in the center plane, from the rear to the front."""
    profiles = side_profile(plug.vertices, plug.triangles)
    if not profiles:
        raise ShapeError("the plug does not cross the center plane, so that its mold cannot part there; take laminate.pieces = 1")
    points = np.concatenate(profiles)
    turn, reach = np.arctan2(points[:, 0], points[:, 1]), np.linalg.norm(points, axis=1)
    steps = max(2, int((turn.max() - turn.min()) * reach.mean() / _STEP_MM))
    at = np.linspace(turn.min(), turn.max(), steps + 1)
    ways = np.stack([np.sin(at), np.cos(at)], axis=1)
    most = np.zeros(steps + 1)
    for line in profiles:
        for one, two in pairwise(line):
            ends = np.sort(np.arctan2([one[0], two[0]], [one[1], two[1]]))
            low, high = np.searchsorted(at, [ends[0] - 1e-9, ends[1] + 1e-9])
            if high > low:
                most[low:high] = np.maximum(most[low:high], _reach(one, two, ways[low:high]))
    return np.asarray((most[:, None] * ways)[most > 0.0])


def _reach(one: Array, two: Array, ways: Array) -> Array:
    """How far from the axle unit ways (k, 2) meet a stretch; where they run along it, its far end."""
    across, over = one[0] * ways[:, 1] - one[1] * ways[:, 0], two[0] * ways[:, 1] - two[1] * ways[:, 0]
    apart = across - over
    share = np.divide(across, apart, out=np.full(len(ways), float(two @ two > one @ one)), where=np.abs(apart) > 1e-12)
    points = one + np.clip(share, 0.0, 1.0)[:, None] * (two - one)
    return np.asarray(np.linalg.norm(points, axis=1))


def _at(line: Array, along: Array, places: Array) -> Array:
    forward, up = (np.interp(places, along, column) for column in line.T)
    return frozen(np.column_stack([np.zeros(len(places)), -forward, up]))
