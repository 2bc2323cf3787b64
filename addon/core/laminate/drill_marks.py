# SPDX-License-Identifier: GPL-3.0-or-later
"""Small hollows in a plug or buck that show in the part where its bolt holes are to be drilled."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..base.arrays import Array
from ..base.errors import ShapeError
from ..base.format_place import format_place
from ..base.row_vectors import dot_rows
from ..mesh.triangle_mesh import TriangleMesh, outward
from ..seat.seat import Seat
from ..tables.mold_rules import DRILL_MARK_DEPTH_MM, DRILL_MARK_MM

_SIDES = 24
_OVER = 0.5


def drill_marks(face: TriangleMesh, seats: Sequence[Seat]) -> list[TriangleMesh]:
    """A cone for each bolt of all seats, its tip under the face that looks away from the wheel.

    face : closed shell of plug or buck, mm. Raises ShapeError if a bolt is not over it.
    """
    return [_cone(_top(face, bolt, seat), seat.normal) for seat in seats for bolt in seat.place(seat.bolts)]


def _top(face: TriangleMesh, bolt: Array, seat: Seat) -> Array:
    """Where the bolt's axis leaves the shell on the far side of the wheel, near the seat."""
    a, b, c = np.moveaxis(face.corners, 1, 0)
    e1, e2 = b - a, c - a
    across = np.cross(seat.normal, e2)
    det = dot_rows(e1, across)
    facing = det < -1e-12  # the face's normal goes along with the axis
    safe = np.where(facing, det, -1.0)
    from_a = bolt - a
    u = dot_rows(from_a, across) / safe
    turned = np.cross(from_a, e1)
    v = turned @ seat.normal / safe
    along = dot_rows(e2, turned) / safe
    hit = np.flatnonzero(facing & (u >= -1e-9) & (v >= -1e-9) & (u + v <= 1.0 + 1e-9))
    if not len(hit):
        raise ShapeError(f"a bolt is not over the part {format_place(bolt)}; widen the fender or move the pattern", bolt)
    return np.asarray(bolt + float(along[hit[np.argmin(np.abs(along[hit]))]]) * seat.normal)


def _cone(top: Array, up: Array) -> TriangleMesh:
    """From a tip under the face to a little over it."""
    one = np.cross(up, np.eye(3)[int(np.argmin(np.abs(up)))])
    one /= np.linalg.norm(one)
    turn = 2.0 * np.pi * np.arange(_SIDES) / _SIDES
    radius = 0.5 * DRILL_MARK_MM * (DRILL_MARK_DEPTH_MM + _OVER) / DRILL_MARK_DEPTH_MM
    ring = top + _OVER * up + radius * (np.cos(turn)[:, None] * one + np.sin(turn)[:, None] * np.cross(up, one))
    points = np.concatenate([ring, (top - DRILL_MARK_DEPTH_MM * up)[None], (top + _OVER * up)[None]])
    here, after = np.arange(_SIDES), np.roll(np.arange(_SIDES), -1)
    sides = np.stack([after, here, np.full(_SIDES, _SIDES)], axis=1)
    lid = np.stack([here, after, np.full(_SIDES, _SIDES + 1)], axis=1)
    return outward(TriangleMesh(points, np.concatenate([sides, lid])))
