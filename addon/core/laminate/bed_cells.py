# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a plug, buck or mold is cut so that each piece fits the bed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..base.arrays import Array
from ..base.wheel_axes import station_of
from ..mesh.prism import slab
from ..mesh.triangle_mesh import TriangleMesh

MOST_ROWS = 8
_CLEAR_MM = 9.0
"""From a cut to the middle of a bolt or key: half a hole, or a key, and a wall."""
_STEP_DEG = 0.25
_MOST_SHIFT_DEG = 8.0
_OVERLAP = 1.0


@dataclass(frozen=True, eq=False)
class BedCell:
    """name : of the piece, "" for the only one; room : the body that it lies in, None for all of space"""

    name: str
    room: TriangleMesh | None


def bed_cells(mesh: TriangleMesh, avoid: Array, fits: Callable[[Array], bool]) -> tuple[BedCell, ...] | None:
    """The fewest cells, cut across at stations and along the center plane, whose pieces fit; None if none are enough.

    mesh : within half a turn about the axle; avoid : (k, 3) float, mm, bolts and keys that the cuts stay off
    fits : whether the bed holds a piece with such points
    """
    if fits(mesh.vertices):
        return (BedCell("", None),)
    stations = station_of(mesh.vertices)
    low, high = float(stations.min()), float(stations.max())
    if high - low >= _WIDEST_DEG:
        return None
    options = sorted(
        ((rows, sides) for rows in range(1, MOST_ROWS + 1) for sides in (1, 2)), key=lambda pair: (pair[0] * pair[1], pair[1])
    )
    for rows, sides in options:
        if rows * sides == 1:
            continue
        cuts = _cuts(low, high, rows, avoid)
        if cuts is not None and all(fits(points) for points in _pieces(mesh, stations, cuts, sides)):
            return tuple(_cells(mesh, cuts, sides))
    return None


_WIDEST_DEG = 300.0


def _cuts(low: float, high: float, rows: int, avoid: Array) -> list[float] | None:
    """Stations of the ends and cuts, each moved to where it stays off bolts and keys; None if one cannot be."""
    cuts = [low - _OVERLAP]
    for wanted in low + (high - low) * np.arange(1, rows) / rows:
        shifts = np.arange(0.0, _MOST_SHIFT_DEG, _STEP_DEG)
        for station in np.concatenate([wanted + shifts, wanted - shifts])[np.argsort(np.tile(shifts, 2), kind="stable")]:
            if _is_clear(float(station), avoid):
                cuts.append(float(station))
                break
        else:
            return None
    return [*cuts, high + _OVERLAP]


def _is_clear(station: float, avoid: Array) -> bool:
    turn = np.radians(station)
    forward, outward = np.array([0.0, -np.cos(turn), -np.sin(turn)]), np.array([0.0, -np.sin(turn), np.cos(turn)])
    near = avoid[avoid @ outward > 0.0]
    return not len(near) or float(np.abs(near @ forward).min()) >= _CLEAR_MM


def _pieces(mesh: TriangleMesh, stations: Array, cuts: list[float], sides: int) -> list[Array]:
    """Points of the triangles that reach into each cell: a little more than the piece."""
    corners, x = stations[mesh.triangles], mesh.vertices[:, 0][mesh.triangles]
    found = []
    for one, two in pairwise(cuts):
        row = (corners.max(axis=1) >= one) & (corners.min(axis=1) <= two)
        for side in (0.0,) if sides == 1 else (1.0, -1.0):
            within = row if side == 0.0 else row & ((side * x).max(axis=1) >= 0.0)
            chosen = mesh.vertices[np.unique(mesh.triangles[within])]
            if len(chosen):
                found.append(_cut_to(chosen, one, two, side))
    return found


def _cut_to(points: Array, one: float, two: float, side: float) -> Array:
    """Points moved onto the cell's planes where they lie beyond: at most as far out as the piece's own corners there."""
    moved = points.copy()
    for station, sign in ((one, -1.0), (two, 1.0)):
        turn = np.radians(station)
        forward = np.array([0.0, -np.cos(turn), -np.sin(turn)])
        over = np.maximum(sign * (moved @ forward), 0.0)
        moved -= sign * over[:, None] * forward
    if side:
        moved[:, 0] = side * np.maximum(side * moved[:, 0], 0.0)
    return moved


def _cells(mesh: TriangleMesh, cuts: list[float], sides: int) -> list[BedCell]:
    half = float(np.abs(mesh.vertices[:, 0]).max()) + _OVERLAP
    far = 2.0 * float(np.linalg.norm(mesh.vertices[:, 1:], axis=1).max())
    cells = []
    for row, (one, two) in enumerate(pairwise(cuts), start=1):
        for name, low, high in (("", -half, half),) if sides == 1 else (("left", 0.0, half), ("right", -half, 0.0)):
            number = str(row) if len(cuts) > 2 else ""
            cells.append(BedCell("_".join(word for word in (number, name) if word), _wedge(one, two, low, high, far)))
    return cells


def _wedge(one: float, two: float, low: float, high: float, far: float) -> TriangleMesh:
    """The room between two stations less than half a turn apart and two offsets, from the axle out."""
    turns = np.radians(np.linspace(one, two, 4))
    arc = far / np.cos(0.5 * (turns[1] - turns[0])) * np.stack([-np.sin(turns), np.cos(turns)], axis=1)
    outline = np.concatenate([np.zeros((1, 2)), arc])
    faces = [np.column_stack([np.full(5, x), outline]) for x in (low, high)]
    fan = np.array([[0, 1, 2], [0, 2, 3], [0, 3, 4]])
    return slab(faces[0], faces[1], fan, np.arange(5))
